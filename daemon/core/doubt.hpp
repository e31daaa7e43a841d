// What each cause means for a value: which quality it gives, whether a value with it can trip a limit, and whether it can
// clear one. The only table of its kind; the worst cause travels through every computation.
#pragma once

#include "daemon/core/reading.hpp"

namespace standfast {

struct Doubt {
  Cause cause;
  Quality quality;
  bool trips;   // A number beyond STOP with this cause trips STOP.
  bool clears;  // A number within the limit with this cause may count as back.
  std::string_view why;  // Why it does not trip; otherwise what the doubt is about.
};

// The causes of values, in order of declaration; every other cause (alarms, permits) has no entry.
inline constexpr int doubt_count = static_cast<int>(Cause::shared_transducer) + 1;
const Doubt& doubt_of(Cause cause);
// A cause of a value that has a number, if a doubted one. False for any other.
bool leaves_a_number(Cause cause);
// A cause of a value that has none.
bool leaves_no_number(Cause cause);

// Lays one more doubt on a reading. Of two causes of the same quality the one declared first stays, so that the order in
// which parts are looked at decides nothing.
void add_doubt(Reading& reading, Cause cause);

// True where `a` is worse than `b` and therefore travels on.
bool worse(const Reading& a, const Reading& b);

// A reading without a number, of the given dimension and instant.
Reading bad_reading(Cause cause, Dimension dimension, Instant at);

}  // namespace standfast
