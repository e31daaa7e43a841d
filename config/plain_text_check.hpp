// Is a file plain text at all? Asked before any parser sees a byte.
#pragma once

#include <string_view>

#include "config/complaints.hpp"

namespace standfast {

// Size, UTF-8, forbidden characters, line ends, line length. True if the bytes may be parsed. Each kind of trouble is
// told at its first place only.
bool check_plain_text(std::string_view bytes, Complaints& complaints);

inline constexpr int most_line_bytes = 1000;

}  // namespace standfast
