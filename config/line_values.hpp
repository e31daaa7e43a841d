// From a line of text that an instrument said to the plain numbers in it, as the rig states the line. Pure.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "config/result.hpp"
#include "config/rig.hpp"

namespace standfast {

enum class TextFault : std::uint8_t {
  garbled,     // a wrong checksum, or a byte that is no printable ASCII in a line that does not fit: noise, or a wrong baud rate
  other_text,  // a clean line that is not the stated one: another unit, another form, one field more
};

// One for each {value} of the pattern: a number, or none where one of the overload words stands.
using LineValues = std::vector<std::optional<double>>;

// Whole or not at all: all bytes of the pattern outside {value} must stand in `line` as they are, and nothing else. The
// line comes without its end.
//
// A number is a sign or none, at least one digit, and then nothing, or the stated decimal mark and at least one digit;
// spaces may stand before the sign and behind it, zeros in front. At most 15 digits, which a double keeps apart. -0 is 0.
// An overload word stands in place of a number, or is the whole line.
Result<LineValues, TextFault> line_values(const SerialLines& wire, std::string_view line);

}  // namespace standfast
