#include "tools/rig/leg.hpp"

#include <algorithm>
#include <cmath>

namespace standfast::rig {

Leg::Trial Leg::trial(double root_rise, double load) const {
  const double travel =
      root_rise + load * elastic_compliance + ground.settlement(load) + bedding.closure(load) - growth;
  const double travel_slope = elastic_compliance + 1 / ground.stiffness + bedding.slope(load);
  const double shut_in = std::max(0.0, travel - return_from);
  const double back_force = return_stiffness * shut_in;
  Friction::Slopes rub = friction.slopes(load, travel);
  if (shut_in > 0) rub.with_travel += return_stiffness;
  const double ram_force = load + friction.force(load, travel) + back_force;
  const double ram_slope = 1 + rub.with_load + rub.with_travel * travel_slope;
  return {travel, ram_force, back_force, travel + ram_force / oil_stiffness - oil, travel_slope + ram_slope / oil_stiffness,
          ram_slope, rub};
}

// Below it a leg carries nothing: no balance of forces tells it from that.
constexpr double least_load = 1e-6;  // N

// Newton's step, halving where it would leave the bracket: the surplus rises with the load, so it always arrives.
double Leg::load_under(double root_rise, double near) const {
  if (trial(root_rise, 0).surplus >= 0) return 0;
  double low = 0;
  double high = std::max(1e3, 2 * near);
  while (trial(root_rise, high).surplus < 0) high *= 2;
  double load = near > least_load ? near : low;
  for (int i = 0; i < 200 && high - low > 1e-7; ++i) {
    const Trial now = trial(root_rise, load);
    (now.surplus < 0 ? low : high) = load;
    const double next = load - now.surplus / now.slope;
    if (std::abs(next - load) < 1e-9) break;
    load = next > low && next < high ? next : (low + high) / 2;
  }
  return load > least_load ? load : 0;
}

LegState Leg::state_at(double root_rise, double load) const {
  if (load <= 0) return {0, 0, 0, oil, 0, oil_stiffness};  // The ram stands free, without pressure.
  const Trial now = trial(root_rise, load);
  const double fall = (1 + now.rub.with_travel / oil_stiffness) / now.slope;
  return {load, now.ram_force, now.back_force, now.travel, fall, now.ram_slope / now.slope};
}

LegState Leg::under(double root_rise, double near) const { return state_at(root_rise, load_under(root_rise, near)); }

}  // namespace standfast::rig
