// The whole simulated rig without wires and without a clock: site, pump, instruments, output module and what a person or a
// script does to them. Moved by `step`; the same seed, steps, writes and commands give the same words.
//
// Real time moves the output module's watchdog; the site runs `speed` times as fast.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "config/result.hpp"
#include "config/rig.hpp"
#include "tools/rig/instruments.hpp"
#include "tools/rig/log_entry.hpp"
#include "tools/rig/pump.hpp"
#include "tools/rig/relays.hpp"
#include "tools/rig/script.hpp"
#include "tools/rig/site.hpp"
#include "tools/rig/unit_tables.hpp"
#include "tools/rig/wire_fault.hpp"

namespace standfast::rig {

struct PlantOptions {
  std::uint64_t seed{1};
  double speed{1};
  std::vector<ScriptLine> script;  // As read_script gives it.
};

// A change that does not come at once: the head pushed, weight added, a base sinking.
struct Ramp {
  enum class What : std::uint8_t { head, weight, base } what{};
  std::size_t leg{0};
  double left{0};        // SI.
  double per_second{0};  // SI, with the sign of `left`.
};

class Plant {
 public:
  // A sentence where the rig states what this site does not have.
  static Result<std::unique_ptr<Plant>, std::string> make(const Rig& rig, const SiteStatement& site,
                                                          PlantOptions options);
  Plant(const Plant&) = delete;
  Plant& operator=(const Plant&) = delete;

  void step(Duration real);

  // One line as a person would say it, from `by` (control, script, test); the answer is one line, of `help` several. Commands:
  // help_text.cpp.
  std::string obey(const std::string& line, std::string_view by);

  // As over a wire: a request's PDU to the answer's; none: silence. A unit that the rig does not name is answered like a
  // gateway does (exception 11).
  std::optional<Bytes> serve(BusId bus, int unit_id, std::span<const std::uint8_t> request);
  // Without a wire. None where the unit is silent or the addresses do not exist.
  std::optional<std::vector<std::uint16_t>> words(BusId bus, int unit_id, Table table, int start, int count) const;
  bool write(BusId bus, int unit_id, Table table, int start, const std::vector<std::uint16_t>& words);

  bool has_unit(BusId bus, int unit_id) const { return units_.contains({bus, unit_id}); }
  bool is_silent(BusId bus, int unit_id) const;
  // The line of text that the instrument on this bus says now, with all that is wrong with it.
  std::string line_said(BusId bus) const;
  // The same without checksum and line end, as it should be.
  std::string line(BusId bus) const;

  std::vector<LogEntry> take_log();

  const Rig& rig() const { return rig_; }
  Site& site() { return site_; }
  const Site& site() const { return site_; }
  Instruments& instruments() { return instruments_; }
  const Instruments& instruments() const { return instruments_; }
  Pump& pump() { return pump_; }
  const Pump& pump() const { return pump_; }
  Relays* relays() { return relays_ ? &*relays_ : nullptr; }
  const Relays* relays() const { return relays_ ? &*relays_ : nullptr; }
  WireFault& wire(BusId bus) { return wires_[bus.at()]; }
  Random& wire_chance() { return wire_chance_; }
  void freeze(BusId bus, bool frozen);  // Everything that is read over it stays as it is.
  UnitTables* unit(int unit_id, std::optional<BusId> bus = {});  // Without a bus: the first that has it.
  UnitTables* module();                 // Of the output module; null where the rig states none.
  bool permitted(Direction direction) const;
  void add_ramp(const Ramp& ramp) { ramps_.push_back(ramp); }
  void let_head_go();
  void press_site_stop(bool pressed);
  bool site_stop_pressed() const { return site_stop_; }
  void set_mains(bool present) { mains_ = present; }
  Duration elapsed() const { return elapsed_; }

 private:
  Plant(const Rig& rig, const SiteStatement& site, Fastening fastening, PlantOptions options);
  void step_site(Duration simulated);
  void move_ramps(double seconds);
  void obey_script();
  void show();
  void note_changes();
  std::vector<std::optional<std::string>> values_on(BusId bus) const;

  Rig rig_;
  PlantOptions options_;
  Site site_;
  Pump pump_;
  Instruments instruments_;
  std::optional<Relays> relays_;
  Units units_;
  std::vector<WireFault> wires_;  // One for each bus.
  Random wire_chance_;            // Its own: what a wire loses changes no instrument's noise.
  std::vector<Ramp> ramps_;
  std::size_t script_at_{0};
  std::optional<double> held_head_;
  bool site_stop_{false};
  bool mains_{true};
  PumpState last_pump_{PumpState::idle};
  Duration elapsed_{};
  std::vector<LogEntry> log_;
};

}  // namespace standfast::rig
