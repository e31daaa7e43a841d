// Wall time as text, by RFC 3339. For people and files only: wall time decides nothing.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "config/instant.hpp"
#include "config/result.hpp"

namespace standfast {

// `2026-03-01T07:15:00.5Z`, `1996-12-19T16:39:57-08:00`; `t` and `z` in lower case too. `-00:00` (offset not known) counts
// as UTC. A fraction may have any length; what is finer than a nanosecond is dropped. A leap second, `:60`, is read only
// where there can be one (23:59:60 UTC on the last of June or December, from 1972) and is the second after it.
// The error is a reason in lower case. A year outside 1678 to 2261 is refused: the nanoseconds would not fit.
Result<WallTime, std::string> parse_wall_time(std::string_view text);

struct UtcOffset {
  int minutes{0};  // East is positive; less than a day.
};

// To the millisecond, the rest dropped: `2026-03-01T07:15:00.500Z`; with an offset `2026-03-01T08:15:00.500+01:00`.
std::string wall_time_text(WallTime time);
std::string wall_time_text(WallTime time, UtcOffset offset);

// The start of the day `2027-03-01` in UTC; none where that is not a day of the years above.
std::optional<WallTime> parse_date(std::string_view text);

}  // namespace standfast
