// The output module of the simulated site: coils in, contacts out, a watchdog of its own that drops every output when the
// heartbeat stops. A contact is what the pump and the crew feel; it is read back as it is, not as it was ordered.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "config/instant.hpp"
#include "config/rig.hpp"
#include "tools/rig/registers.hpp"

namespace standfast::rig {

// The mark by which the module says that it is simulated, at a register of its own. These numbers stand a second time in
// drivers/output_module.hpp: written here anew and not included, because the mark is a promise between two programs, and
// a change of one side alone must be seen.
inline constexpr int identification_register = 65100;
inline constexpr std::array<std::uint16_t, 2> identification{0x5346, 0x5349};
// Behind it: 1 while the watchdog has tripped, and how often it has.
inline constexpr int watchdog_state_register = 65102;
inline constexpr int watchdog_trips_register = 65103;

enum class ContactFault : std::uint8_t { none, welded, open };

struct ContactChange {
  OutputKind output{};
  bool on{false};
  std::string_view by;  // coil, watchdog, site stop, contact, power
};

std::string_view name_of(OutputKind kind);

class Relays {
 public:
  explicit Relays(const OutputModuleStatement& statement);

  void step(Duration real);  // The watchdog counts real time.

  // Tables of the module's unit. Coils and holding registers may be written.
  const Registers& coils() const { return coils_; }
  const Registers& holding() const { return holding_; }
  void write_coils(int start, const std::vector<std::uint16_t>& bits);
  void write_holding(int start, const std::vector<std::uint16_t>& words);
  // Contacts by the discrete input at which they are read back.
  std::vector<std::pair<int, bool>> readbacks() const;

  // None where the rig file states no such output.
  std::optional<bool> contact(OutputKind kind) const;
  bool watchdog_tripped() const { return tripped_; }

  void set_contact_fault(OutputKind kind, ContactFault fault);
  void press_site_stop(bool pressed);
  void set_watchdog(std::uint16_t counts);
  bool set_value(bool on_watchdog, std::uint16_t value);  // Of the first register stated for that; false: none is.
  void set_blind(bool blind) { blind_ = blind; }  // It no longer sees the heartbeat's edges.
  bool order(OutputKind kind, bool on);  // By another master's hand; false: no such output.
  void restart();  // Power off and on: coils as the power-on register says, watchdog waiting for a first edge.

  std::vector<ContactChange> take_changes();

 private:
  bool sees_edge(int start, const std::vector<std::uint16_t>& bits);
  bool contact_of(const Output& output) const;
  Duration watchdog_time() const;
  void trip();
  void force(std::uint16_t mask);
  void note(std::string_view by);

  OutputModuleStatement said_;
  Registers coils_, holding_;
  std::optional<int> heartbeat_coil_;
  std::optional<bool> last_beat_;  // As last written.
  Duration since_edge_{};
  std::uint16_t forced_{0};  // Contacts while tripped, one bit for each coil.
  bool tripped_{false};  // As at power-on, until a first beat: power is not permission.
  bool blind_{false};
  bool site_stop_{false};
  std::array<ContactFault, output_count> faults_{};
  std::array<bool, output_count> last_{};
  std::vector<ContactChange> changes_;
};

}  // namespace standfast::rig
