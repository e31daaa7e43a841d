// What one instrument shows over time, in the short notation of a rehearsal:
//
//   0 bar                                     that value from the start to the end
//   0 mm for 10 s, to 0.6 mm in 5 s, missing for 3 s, 0.6 mm
//
// Parts behind commas follow each other. `VALUE for TIME` stands still, `to VALUE in TIME` goes straight there, `missing
// for TIME` gives no answer (the whole request that reads it), `dead for TIME` answers with a broken loop or a number that
// is none. The last part may leave its time out and lasts to the end.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "config/instant.hpp"
#include "config/result.hpp"
#include "config/unit_text.hpp"

namespace standfast::rehearse {

enum class Shape : std::uint8_t { still, ramp, missing, dead };

struct Part {
  Shape shape{Shape::still};
  double value{0};                // SI; at its end.
  std::optional<Duration> lasts;  // None: to the end.
};

struct Series {
  std::vector<Part> parts;
};

Result<Series, TextError> read_series(std::string_view text, Dimension dimension);

struct Shown {
  Shape shape{Shape::still};  // still, missing or dead.
  double value{0};
};
Shown shown_at(const Series& series, Duration since_start);

}  // namespace standfast::rehearse
