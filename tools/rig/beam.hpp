// A needle beam, clamped to the column between its two ends: each end is a cantilever that bends and shears. All SI.
// Formulas: deflection of a cantilever's end F l^3 / (3 E I), shear F l / (G A_web) (any book on strength of materials).
// With the end loads in the ratio of the lever arms the column rises above the line through both ends by
// P a^2 b^2 / (3 E I L) + P a b / (L G A_web).
#pragma once

namespace standfast::rig {

struct BeamSection {
  double youngs_modulus{0};  // Pa
  double shear_modulus{0};   // Pa
  double inertia{0};         // m4
  double web_area{0};        // m2
};

// m/N: what an end `arm` from the column gives way under its load.
constexpr double end_compliance(const BeamSection& beam, double arm) {
  const double length = arm < 0 ? -arm : arm;
  const double bending = length * length * length / (3 * beam.youngs_modulus * beam.inertia);
  const double shear = length / (beam.shear_modulus * beam.web_area);
  return bending + shear;
}

}  // namespace standfast::rig
