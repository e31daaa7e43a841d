// The one grammar of a number that a person writes: -?digits(.digits)?, and a word on what is wrong with anything else.
#pragma once

#include <string_view>

#include "config/decimal.hpp"
#include "config/result.hpp"

namespace standfast {

// The error is a short reason, `decimal comma`. No exponent, plus, leading zero, separator, infinity: each has been
// read differently by different programs, or hides a slip of the hand.
Result<Decimal, std::string_view> read_number(std::string_view text);

}  // namespace standfast
