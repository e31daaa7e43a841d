// The ground under one tower: it gives at once, and then creeps with the logarithm of time. All SI.
//
// Under a steady load s(t) = a ln(1 + t / t0), which is ds/dt = (a / t0) exp(-s / a): written like that the rate follows
// from what has crept already, so any history of load is covered, and each step is integrated exactly for its load.
#pragma once

#include <algorithm>
#include <cmath>

namespace standfast::rig {

struct Ground {
  double stiffness{1};          // N/m, at once.
  double creep_per_decade{0};   // m for each N and each factor of ten in time.
  double creep_start{10};       // s, t0.
  double crept{0};              // m, so far.

  void creep(double load, double seconds) {
    const double a = creep_per_decade * load / std::log(10.0);
    if (a <= 0) return;
    // Ground that somebody raised begins anew.
    crept += a * std::log1p(seconds / creep_start * std::exp(-std::max(0.0, crept) / a));
  }
  double settlement(double load) const { return load / stiffness + crept; }
};

}  // namespace standfast::rig
