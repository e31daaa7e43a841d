// Text of a stranger, fit to stand in a message.
#pragma once

#include <string>
#include <string_view>

namespace standfast {

// In single quotes, at most 48 bytes of it (`...` where it was cut), whole characters only. Control characters and bytes
// that are not UTF-8 appear as \xNN, so that the message stays one line of valid UTF-8.
std::string quoted(std::string_view text);

}  // namespace standfast
