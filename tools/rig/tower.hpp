// A temporary tower under one beam end: it shortens under load and grows with warmth. All SI.
#pragma once

namespace standfast::rig {

struct Tower {
  double height{0};          // m
  double area{0};            // m2
  double youngs_modulus{0};  // Pa
  double expansion{0};       // 1/K

  constexpr double compliance() const { return height / (youngs_modulus * area); }
  constexpr double growth(double warming) const { return expansion * height * warming; }
};

}  // namespace standfast::rig
