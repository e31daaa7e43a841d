#include "tools/rig/leg.hpp"

#include <cmath>

namespace standfast::rig {

Leg::Trial Leg::trial(double root_rise, double load) const {
  const double travel =
      root_rise + load * elastic_compliance + ground.settlement(load) + bedding.closure(load) - growth;
  const double travel_slope = elastic_compliance + 1 / ground.stiffness + bedding.slope(load);
  const Friction::Slopes rub = friction.slopes(load, travel);
  const double ram_force = load + friction.force(load, travel);
  const double ram_slope = 1 + rub.with_load + rub.with_travel * travel_slope;
  return {travel, ram_force, travel + ram_force / oil_stiffness - oil, travel_slope + ram_slope / oil_stiffness};
}

// Newton's step, halving where it would leave the bracket: the surplus rises with the load, so it always arrives.
double Leg::load_under(double root_rise) const {
  if (trial(root_rise, 0).surplus >= 0) return 0;
  double low = 0;
  double high = 1e3;
  while (trial(root_rise, high).surplus < 0) high *= 2;
  double load = low;
  for (int i = 0; i < 200 && high - low > 1e-7; ++i) {
    const Trial now = trial(root_rise, load);
    (now.surplus < 0 ? low : high) = load;
    const double next = load - now.surplus / now.slope;
    if (std::abs(next - load) < 1e-9) break;
    load = next > low && next < high ? next : (low + high) / 2;
  }
  return load;
}

LegState Leg::state_at(double root_rise, double load) const {
  const Trial now = trial(root_rise, load);
  if (load <= 0) return {0, 0, oil, 0, oil_stiffness};  // The ram stands free, without pressure.
  const Friction::Slopes rub = friction.slopes(load, now.travel);
  const double fall = (1 + rub.with_travel / oil_stiffness) / now.slope;
  const double travel_slope = elastic_compliance + 1 / ground.stiffness + bedding.slope(load);
  const double ram_slope = 1 + rub.with_load + rub.with_travel * travel_slope;
  return {load, now.ram_force, now.travel, fall, ram_slope / now.slope};
}

LegState Leg::under(double root_rise) const { return state_at(root_rise, load_under(root_rise)); }

}  // namespace standfast::rig
