// From what an instrument shows to the words that its wire would carry: the scaling of the rig, backwards.
#pragma once

#include <cstdint>
#include <vector>

#include "config/rig.hpp"
#include "tools/rehearse/series.hpp"

namespace standfast::rehearse {

// Rounded to the nearest count, held to what the type can carry. `dead`: no current in a loop, a NaN of a float, the
// largest count of an integer.
std::vector<std::uint16_t> words_for(const Channel& channel, const Shown& shown);

}  // namespace standfast::rehearse
