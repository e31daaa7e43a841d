// Colour on a terminal, where it is wanted. Yellow is HOLD, red is STOP, and nothing else has either.
#pragma once

#include <string>

#include "tools/standfast/command.hpp"

namespace standfast::client {

// --colour always or never; without it where stdout is a terminal, TERM is not "dumb" and NO_COLOR is missing or empty.
bool coloured(const Arguments& arguments);

enum class Ink { plain, hold, stop, strong };
std::string inked(const std::string& text, Ink ink, bool coloured);

}  // namespace standfast::client
