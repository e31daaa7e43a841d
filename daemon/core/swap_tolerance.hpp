// What proves an instrument that was swapped in, in numbers.
#pragma once

#include <algorithm>
#include <cmath>

#include "config/rig.hpp"

namespace standfast {

// A feeler of known thickness, put under a gauge, changes its number by the thickness to this (common practice, no source);
// a gauge that is coarser than that by one step of its own.
inline constexpr Length feeler_tolerance = Length::from_si(0.03e-3);
// A thinner one proves little beside that; a thicker one is no feeler (common practice, no source).
inline constexpr Length thinnest_feeler = Length::from_si(0.5e-3), thickest_feeler = Length::from_si(20e-3);
// A transducer agrees with a dial gauge to this part of what the dial shows (common practice, no source).
inline constexpr double dial_part = 0.02;
// At the low end, and for what is no pressure, to this part of its range: as far off may a transducer be with the hose
// uncoupled (common practice, no source).
inline constexpr double dial_part_of_range = 0.005;

// Near nought every transducer shows nought, of whatever range it is. From this part of the range on, one whose scale is 5 % off
// or more is found (common practice, no source): 0.5 % of the range is 5 % of a tenth of it.
inline constexpr double lowest_dial_part_of_range = 0.1;

inline bool has_a_scale(const Channel& channel) {
  return channel.dimension == Dimension{Base::pressure, Per::none} || channel.dimension == Dimension{Base::force, Per::none};
}

// SI. What a dial must show at least, either way, to prove the scale of a pressure transducer or a load cell.
inline double lowest_dial(const Channel& channel) {
  if (!has_a_scale(channel)) return 0;
  return lowest_dial_part_of_range * std::max(std::abs(channel.range_low), std::abs(channel.range_high));
}

// SI. `value`: what the channel should show; its size counts for pressures alone.
inline double swap_tolerance(const Channel& channel, double value) {
  if (channel.dimension == Dimension{Base::length, Per::none}) return std::max(feeler_tolerance.si(), channel.resolution);
  const double of_range = dial_part_of_range * (channel.range_high - channel.range_low);
  if (channel.dimension != Dimension{Base::pressure, Per::none}) return of_range;
  return std::max(of_range, dial_part * (value < 0 ? -value : value));
}

}  // namespace standfast
