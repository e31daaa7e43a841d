#include "config/beam.hpp"

namespace standfast {
namespace {

double bending_stiffness(const BeamSection& s) { return s.youngs_modulus.si() * s.inertia.m4; }  // N m2
double shear_stiffness(const BeamSection& s) { return s.shear_modulus.si() * s.web.si(); }       // N

}  // namespace

Reactions reactions(Force load, LoadedSpan span) {
  const double to_a = span.from_a.si() / span.span.si();
  return {load * (1 - to_a), load * to_a};
}

Length bending_at_load(Force load, LoadedSpan span, const BeamSection& section) {
  const double a = span.from_a.si(), b = (span.span - span.from_a).si();
  return Length::from_si(load.si() * a * a * b * b / (3 * bending_stiffness(section) * span.span.si()));
}

Length shear_at_load(Force load, LoadedSpan span, const BeamSection& section) {
  const double a = span.from_a.si(), b = (span.span - span.from_a).si();
  return Length::from_si(load.si() * a * b / (span.span.si() * shear_stiffness(section)));
}

Length bending_of_own_weight(Force weight, Length span, const BeamSection& section) {
  const double l = span.si();
  return Length::from_si(5 * weight.si() * l * l * l / (384 * bending_stiffness(section)));
}

Length shear_of_own_weight(Force weight, Length span, const BeamSection& section) {
  return Length::from_si(weight.si() * span.si() / (8 * shear_stiffness(section)));
}

OverhangReactions reactions(Force load, Overhang arm) {
  const Force held_down = load * (arm.beyond.si() / arm.span.si());
  return {load + held_down, held_down * -1};
}

Length bending_at_load(Force load, Overhang arm, const BeamSection& section) {
  const double c = arm.beyond.si();
  return Length::from_si(load.si() * c * c * (arm.span.si() + c) / (3 * bending_stiffness(section)));
}

Length shear_at_load(Force load, Overhang arm, const BeamSection& section) {
  return shear_at_tip(reactions(load, arm).near, arm.beyond, section);
}

Length bending_at_tip(Force load, Length arm, const BeamSection& section) {
  const double l = arm.si();
  return Length::from_si(load.si() * l * l * l / (3 * bending_stiffness(section)));
}

Length shear_at_tip(Force load, Length arm, const BeamSection& section) {
  return Length::from_si(load.si() * arm.si() / shear_stiffness(section));
}

Length shortening(Force load, const Bar& bar) {
  return Length::from_si(load.si() * bar.length.si() / (bar.youngs_modulus.si() * bar.section.si()));
}

Length movement_between(EndMovements ends, Ratio along) { return ends.at_a + (ends.at_b - ends.at_a) * along.si(); }

}  // namespace standfast
