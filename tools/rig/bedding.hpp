// Packing that beds in: most of the way goes in the first tenth or two of the load (common practice, no source), and
// most of it never comes back. All SI.
#pragma once

#include <algorithm>
#include <cmath>

namespace standfast::rig {

struct Bedding {
  double total{0};      // m, under a very large load.
  double load_scale{1};  // N: at this load 63 % of it has gone.
  double elastic{0.2};  // Part of it that comes back when the load goes.
  double largest_load{0};  // N, seen so far.

  constexpr double first_loading(double load) const { return total * (1 - std::exp(-load / load_scale)); }
  constexpr double first_slope(double load) const { return total / load_scale * std::exp(-load / load_scale); }

  double closure(double load) const {
    return elastic * first_loading(load) + (1 - elastic) * first_loading(std::max(load, largest_load));
  }
  double slope(double load) const {
    return (load < largest_load ? elastic : 1.0) * first_slope(load);
  }
  void remember(double load) { largest_load = std::max(largest_load, load); }
};

}  // namespace standfast::rig
