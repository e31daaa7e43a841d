#include "daemon/panel/shown_limits.hpp"

namespace standfast {

bool goes_both_ways(const QuantityRef& of) {
  if (of.rate) return true;
  switch (of.kind) {
    case QuantityKind::movement: case QuantityKind::differential: case QuantityKind::warp: case QuantityKind::travel:
    case QuantityKind::predicted_departure: case QuantityKind::creep: case QuantityKind::temperature_change:
    case QuantityKind::supply:
      return true;
    case QuantityKind::share:
      return of.from_planned;
    case QuantityKind::pressure: case QuantityKind::load: case QuantityKind::circuit_load: case QuantityKind::group_load:
    case QuantityKind::total_load: case QuantityKind::transferred: case QuantityKind::tilt: case QuantityKind::travel_left:
    case QuantityKind::load_lost: case QuantityKind::stiffness_ratio: case QuantityKind::temperature:
    case QuantityKind::agreement: case QuantityKind::pressure_spread: case QuantityKind::channel:
      return false;
  }
  return false;
}

const Limit* limit_named(const Plan& plan, std::string_view name) {
  for (const Stage& stage : plan.stages)
    for (const Limit& limit : stage.limits)
      if (limit.name == name) return &limit;
  return nullptr;
}

}  // namespace standfast
