// Why a value has no number, and why an alarm stands, in words: beside the cause what the wire itself has to say, how many polls
// failed, and that it is no longer so.
#pragma once

#include <string>

#include "daemon/panel/view_parts.hpp"

namespace standfast {

// What the wire of the channel says of its newest failed poll, as a device that cannot be opened or another instrument's
// identity; empty where it says nothing.
std::string told_of(const Drawing& drawing, std::size_t channel);

std::string why_text(const Drawing& drawing, const Alarm& alarm);

}  // namespace standfast
