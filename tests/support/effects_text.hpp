// Everything that came out of an engine, as text: to hold two runs against each other, byte for byte.
#pragma once

#include <string>

#include "daemon/core/effect.hpp"

namespace standfast::test {

std::string text_of(const EffectRow& row);

// The rows with their instants, one a line.
std::string rows_text(const Effects& effects);

// What stands after the event: wanted outputs, sound, heartbeat, the next instant.
std::string standing_text(const Effects& effects);

}  // namespace standfast::test
