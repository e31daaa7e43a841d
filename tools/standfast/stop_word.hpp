// The word that calls STOP, as a hand in a hurry types it.
#pragma once

#include <string_view>

namespace standfast::client {

// Is `stop` meant: in capitals or not, whole or with one slip (a letter wrong, missing, too many, or two swapped)? Whoever
// asks has looked first whether it is another command.
bool means_stop(std::string_view word);

}  // namespace standfast::client
