// A double as text and back without the loss of a bit: for snapshots and the record. No locale has a say.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace standfast {

// The shortest decimal text that reads back as the same bits, -0 and subnormal numbers included; `value` is finite.
std::string number_text(double value);

// Reads what number_text wrote: the whole text, `.` as the point, an exponent allowed. None for anything else, for
// infinities and NaN, and for what does not fit a double.
std::optional<double> number_from_text(std::string_view text);

}  // namespace standfast
