// One leg: beam end, packing, jack, tower and ground in series, and the oil locked in the jack by its check valve. Given
// how far the beam's root has risen at this leg, it says what the leg carries. All SI.
//
// Compatibility: ram travel = root rise + what the load presses together + what the ground crept - what the tower grew.
// Oil: what was pumped in (as travel) = ram travel + what the pressure squeezes the oil. Both rise with the load, so there
// is exactly one load; it is never below nothing, for a jack cannot pull.
#pragma once

#include "tools/rig/ground.hpp"
#include "tools/rig/bedding.hpp"
#include "tools/rig/friction.hpp"

namespace standfast::rig {

struct LegState {
  double load{0};       // N, on the tower.
  double ram_force{0};  // N, pressure times area; it carries the load, the friction and what the rod side pushes back.
  double back_force{0}; // N, of the oil on the rod side.
  double travel{0};     // m, of the ram.
  double softening{0};  // N/m: how the load falls when the root rises.
  double oil_gain{0};   // N/m: how the ram force rises with oil while the root stands.
};

struct Leg {
  double elastic_compliance{0};  // m/N: beam end and tower; the ground apart.
  double oil_stiffness{1};       // N/m: bulk modulus x area / length of the oil column.
  Bedding bedding;
  Ground ground;
  Friction friction;
  double oil{0};     // m: oil in the jack, as ram travel without pressure; warmth included.
  double growth{0};  // m: what the tower has grown.
  // A blocked return: the oil on the rod side is shut in at that travel and pushes back, this stiffly. An open one does nothing.
  double return_stiffness{0};  // N/m
  double return_from{0};       // m

  // `near`: a load to begin the search at; the load found does not depend on it.
  LegState under(double root_rise, double near) const;

 private:
  // surplus: the oil this would need, less what there is; rub: of seal and rod side together.
  struct Trial { double travel, ram_force, back_force, surplus, slope, ram_slope; Friction::Slopes rub; };
  Trial trial(double root_rise, double load) const;
  double load_under(double root_rise, double near) const;
  LegState state_at(double root_rise, double load) const;
};

}  // namespace standfast::rig
