// A day as files and people write it.
#pragma once

#include <string_view>

namespace standfast {

// `2027-03-01`, a day of the Gregorian calendar.
bool is_date(std::string_view text);

}  // namespace standfast
