// A day's warmth: air swings once in 24 h, steel and oil follow late, a tower in the sun is warmer. All SI; degrees are
// kelvin, absolute.
#pragma once

#include <cmath>
#include <numbers>

namespace standfast::rig {

struct Weather {
  double mean{288.15};      // K
  double swing{4};          // K either side of the mean.
  double hour_of_start{6};  // The air is coldest at 4 and warmest at 16 o'clock.

  double air(double seconds) const {
    const double hour = hour_of_start + seconds / 3600;
    return mean + swing * std::sin((hour - 10) / 24 * 2 * std::numbers::pi);
  }
};

// A body that follows its surroundings with a time constant; exact for surroundings steady over the step.
struct Warmth {
  double temperature{288.15};   // K
  double time_constant{1800};   // s
  double sun{0};                // K that the sun adds.

  void follow(double surroundings, double seconds) {
    const double wanted = surroundings + sun;
    temperature = wanted + (temperature - wanted) * std::exp(-seconds / time_constant);
  }
};

}  // namespace standfast::rig
