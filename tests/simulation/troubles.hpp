// What goes wrong in a life: long calm, then many faults at once. Which kinds there are in this life, and how long the calm
// lasts, its seed decides once; then they fire in clusters, as faults do. In one life of three the calm is long enough for the
// work to come to its end.
#pragma once

#include <array>
#include <optional>
#include <utility>

#include "tests/simulation/daemon.hpp"

namespace standfast::test {

enum class Trouble : std::uint8_t {
  wire_spoils, wire_pulled, module_spoils, module_pulled, unit_silent, unit_busy, registers_frozen, instrument, wall_clock,
  killed, machine_restarts, disk_refuses, record_fails, contact, site_stop, module_restarts, other_master, leak, head_pushed, weight,
  base_sinks, stall, queue_full, files_differ
};
inline constexpr int trouble_count = 24;

class Troubles {
 public:
  struct World {
    const Job& job;
    rig::Plant& plant;
    MovedClock& clock;
    Disk& disk;
  };
  Troubles(const World& world, std::uint64_t seed);

  Instant due() const { return std::min(next_, mend_at_.value_or(next_)); }
  // Begins or ends a cluster, or lets one more thing happen in it. What the daemon itself meets is told to it, if it runs.
  void turn(Daemon* daemon);
  // A daemon that has just started finds the wires as they are.
  void show_wires(Daemon& daemon) const;
  // The world's own clock goes on where this one began again.
  void clock_went_back(Duration by);

  // The daemon is to die now, and to be away for so long.
  struct Death { Duration away; bool machine{false}; };
  std::optional<Death> take_death() { return std::exchange(death_, std::nullopt); }
  // A contact that its order does not move, or coils that another master writes: the outputs are not the daemon's alone.
  // Now, or for a moment since this was last asked.
  bool have_tampered_outputs() { return std::exchange(lately_tampered_, tampered_) || tampered_; }
  // What a careful crew repairs before it resets anything.
  void mend_site();
  // Somebody pulls the cable of the output module, for a few seconds.
  void pull_cable();
  std::int64_t happened{0};

 private:
  void happen(Trouble what, Daemon* daemon);
  void happen_on_wires(Trouble what);
  void happen_on_site(Trouble what);
  void happen_to_daemon(Trouble what, Daemon& daemon);
  void say(const std::string& line) { world_.plant.obey(line, "simulation"); }
  std::string any_jack() { return "J" + std::to_string(1 + random_.below(4)); }
  void end_cluster();
  Duration next_calm() { return seconds(calm_ * (30 + random_.below(random_.one_in(4) ? 3000 : 300))); }

  World world_;
  SteadyRandom random_;
  std::array<bool, trouble_count> on_{};
  std::int64_t calm_;  // So many times as long as in the most troubled lives.
  WireState instruments_, outputs_;
  Instant next_;
  std::optional<Instant> mend_at_;  // While a cluster lasts.
  std::optional<Death> death_;
  bool tampered_{false}, lately_tampered_{false};
  std::vector<std::string> undo_;  // What mends the site: weight taken away, packing under a base that sank.
};

}  // namespace standfast::test
