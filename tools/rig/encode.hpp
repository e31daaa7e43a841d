// From a physical value to the words on the wire, as the rig file states the channel: the way an instrument goes. Written
// apart from the code that decodes, so that both cannot be wrong alike.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "config/rig.hpp"

namespace standfast::rig {

// What a channel puts on the wire for `value` (SI): scaled, rounded to the instrument's steps, kept within what its type
// can carry; a current loop is kept within 3.8 to 20.5 mA, where a transmitter that works stays.
std::vector<std::uint16_t> encode(const Channel& channel, double value);

// The number that it says where it speaks text instead: counts, in the instrument's steps.
double counts_for(const Channel& channel, double value);

// What it puts there with its cable off: no current on a loop; not-a-number for a float; the lowest number for a signed
// integer, the highest for an unsigned one.
std::vector<std::uint16_t> encode_unplugged(const Channel& channel);

// With the loop shorted: more current than a transmitter ever gives. Only where there is a loop.
std::vector<std::uint16_t> encode_shorted(const Channel& channel);

}  // namespace standfast::rig
