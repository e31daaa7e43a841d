// How much of the time of each bus is asked for. Pure: from the files alone.
#pragma once

#include <algorithm>
#include <optional>
#include <vector>

#include "config/poll_plan.hpp"

namespace standfast {

// The output module is spoken to without end; so long it is left alone behind each exchange.
constexpr Duration pause_between_exchanges(Duration heartbeat_period) { return std::min(milliseconds(100), heartbeat_period / 4); }

// A line that is asked for more than this is told: behind a lost answer there is no time to ask again.
inline constexpr double nearly_full = 0.8;

struct BusLoad {
  double requests_a_second{0};   // Of the polls.
  double polls{0};               // Share of the bus's time; above 1 the periods cannot be kept.
  double outputs{0};             // The same of the output module where it stands on this serial line, too; below 1.
  Duration most_frequent{};      // The shortest period of its blocks; 0: nothing is read.

  double share() const { return polls + outputs; }
  // The shortest period if all are stretched alike until the line is nearly full, rounded up to a millisecond; none where the
  // outputs alone take that much.
  std::optional<Duration> achievable() const;
};

// One for each bus; a period for each block, as poll_periods gives them. On TCP an instrument's own time is all that counts.
std::vector<BusLoad> bus_loads(const Rig& rig, const PollPlan& polls, const std::vector<Duration>& periods);

// The output module on a serial line that instruments are read over. Its writes go first, and wait nevertheless for the one
// request that runs, and for the quiet behind an instrument that did not answer.
struct SharedLine {
  Duration longest_request{};  // Of those that are answered.
  Duration slowest_answer{};   // Of all units that are read.
  Duration withdrawal{};       // So long an output may go on after it was withdrawn, while an instrument is silent.
};
// None where the module has its wire to itself, or stands on TCP.
std::optional<SharedLine> shared_line(const Rig& rig, const PollPlan& polls);

// How the line of a bus is set; none on TCP.
const SerialSettings* serial_of(const Bus& bus);

}  // namespace standfast
