// A site with round numbers that can be checked by hand: nothing rubs, creeps or warms.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "tools/rig/site.hpp"

namespace standfast::rig {

inline SiteStatement worked_site(Frame frame = {}) {
  SiteStatement s;
  s.column = {1.86e6, 30e9 * 0.5 * 0.5 / 3.5, 1e15};
  s.frame = frame;
  s.beam = {210e9, 81e9, 9.0e-4, 9.0e-3};
  s.tower = {3.2, 1.6e-2, 210e9, 12e-6};
  s.ground = {250e6, 0, 10, 0};
  s.bedding = {0.8e-3, 30e3, 0.2, 0};
  s.friction = {0, 200e6, 0, 0};
  s.places = {{{-1.35, -0.40}, {1.65, -0.40}, {-1.35, 0.40}, {1.65, 0.40}}};
  s.collar_stiffness = 50e6;
  s.roll_stiffness = 50e6;
  s.piston_area = std::numbers::pi * 0.127 * 0.127 / 4;
  s.oil_column = 0.04;
  s.oil_modulus = 1.5e9;
  s.weather.swing = 0;
  return s;
}

// Pumps steadily until each ram pushes with that force, upwards or downwards, and stands.
inline void raise_to(Site& site, std::array<double, leg_count> force, int steps = 400) {
  std::array<double, leg_count> from{};
  for (std::size_t i = 0; i < leg_count; ++i) from[i] = site.pressure(i) * site.piston_area();
  for (int n = 1; n <= steps + 50; ++n) {
    const double part = std::min(1.0, static_cast<double>(n) / steps);
    for (std::size_t i = 0; i < leg_count; ++i) {
      const double wanted = from[i] + part * (force[i] - from[i]);
      const double missing = wanted / site.piston_area() - site.pressure(i);
      if ((missing > 0) == (force[i] > from[i])) site.add_oil(i, 0.7 * missing * site.oil_for_pressure(i));
    }
    site.step(milliseconds(10));
  }
}

}  // namespace standfast::rig
