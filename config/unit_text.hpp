// How units are spelled, and nothing else knows it (the table itself is unit_table). Factors are exact, the conversion is
// done on the decimal digits as written, and the only rounding is the last one: `0.5 mm` is the double nearest to 0.0005.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "config/result.hpp"
#include "config/units.hpp"

namespace standfast {

struct TextError {
  std::string code;      // E-number, E-number-range, E-unit-missing, E-unit-unknown, E-unit-dimension.
  std::string message;   // Lower case, no full stop: "'0,5 mm' is not a quantity (decimal comma)".
  std::string expected;  // "number, space, unit of length, as in '0.5 mm'".
  std::string nearest;   // Nearest known unit, or empty.
};

// `460 kN`, `-0.3 mm`, `0.5 mm/min`, `0.1 mm/decade`, `2 %`, `12 degC`. One number in the grammar -?digits(.digits)?, one
// space, one unit of the wanted dimension. A bare number where a unit belongs is an error, and so are more than 64 bytes,
// anything beyond the range in which amounts can be compared, and a temperature below absolute zero.
Result<Amount, TextError> parse_amount(std::string_view text, Dimension wanted);

// `200 ms`, `10 min`, `1 h`, `2 d`: not negative, exact in nanoseconds, or refused.
Result<Duration, TextError> parse_duration(std::string_view text);

// A plain number in the same grammar, without a unit.
Result<double, TextError> parse_number(std::string_view text);

// The amount in that unit, rounded to `decimals` half away from zero, unit behind a space: `460.0 kN`. The unit must be of
// its dimension. What rounds to nothing has no sign: `0.0 mm`.
std::string amount_text(Amount amount, std::string_view unit, int decimals);

// The number of that unit in the amount (an absolute temperature on the scale of that unit). None if the spelling is
// unknown or of another dimension.
std::optional<double> in_unit(Amount amount, std::string_view unit);

// The unit used where display_units says nothing: kN, bar, mm, degC, K, %, ...; with per: kN/min, mm/min, mm/decade.
std::string_view default_unit(Dimension dimension);

// "force", "rate of length", "length per decade" ... for messages.
std::string dimension_name(Dimension dimension);

}  // namespace standfast
