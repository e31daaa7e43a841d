// The units themselves: spelling, dimension, exact factor. Read by unit_text only.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "config/units.hpp"

namespace standfast {

// SI value = (number + offset) x numerator / denominator x 10^exponent, all of it exact but for deg (pi to 18 digits).
// The offset is in the unit itself, in hundredths: the distance from absolute zero of degC and degF.
struct UnitScale {
  std::uint64_t numerator{1};
  std::uint64_t denominator{1};
  int exponent{0};
  std::int64_t offset_hundredths{0};
};

// The scale of `mm`, `kN/min`, `mm/decade` ... where that spelling is a unit of this dimension.
std::optional<UnitScale> find_unit(std::string_view spelling, Dimension dimension);

// Any dimension of which this spelling is a unit; the first in the order of the table.
std::optional<Dimension> dimension_of_unit(std::string_view spelling);

// Every accepted spelling of a unit of this dimension, the most usual first.
std::vector<std::string> unit_spellings(Dimension dimension);

// What we call the unit that people also write as `inch`, `t` or with a degree sign; empty where we know no such habit.
std::string_view our_spelling(std::string_view habit);

}  // namespace standfast
