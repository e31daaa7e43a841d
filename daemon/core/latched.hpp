// What the record says is latched, for a start whose state cannot be worked out from the events: a signal of before must
// never be lower afterwards.
#pragma once

#include <vector>

#include "daemon/core/effect.hpp"

namespace standfast {

struct LatchedAlarm {
  AlarmChange newest;  // The last word on its number. Number 0: not of the record; it gets a new one.
  WallTime wall;       // Of that word.
};
struct LatchedAlarms {
  std::vector<LatchedAlarm> alarms;  // Oldest first.
  AlarmNumber last{0};               // The highest number ever given.
};

// Where not even that can be read: one HOLD that only the engineer may end.
LatchedAlarms latched_unknown(const std::string& why);

}  // namespace standfast
