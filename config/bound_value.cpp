#include "config/bound_value.hpp"

#include <algorithm>

namespace standfast {

namespace {

double target_of(const std::vector<JackId>& jacks, const Step* step) {
  double sum = 0;
  if (step == nullptr) return sum;
  for (const JackTarget& target : step->targets) {
    if (std::find(jacks.begin(), jacks.end(), target.jack) != jacks.end()) sum += target.load.si();
  }
  return sum;
}

double reference_value(Reference reference, const QuantityRef& of, const Rig& rig, const Plan& plan, const Step* step) {
  const std::vector<JackId> jacks = jacks_of(of, rig);
  const Jack* jack = jacks.empty() ? nullptr : &rig.jacks[jacks.front().at()];
  switch (reference) {
    case Reference::target: return target_of(jacks, step);
    case Reference::full_target: {
      double sum = 0;
      for (JackId id : jacks) sum += full_load(rig.jacks[id.at()], plan).si();
      return sum;
    }
    case Reference::rated: return jack == nullptr ? 0 : jack->rated.si();
    case Reference::column_low: return plan.column_low.si();
    case Reference::column_expected: return plan.column_expected.si();
    case Reference::column_high: return plan.column_high.si();
    case Reference::planned_share: return jack == nullptr ? 0 : jack->planned_share.si();
    case Reference::stroke: return jack == nullptr ? 0 : jack->stroke_limit.si();
  }
  return 0;
}

}  // namespace

std::vector<JackId> jacks_of(const QuantityRef& of, const Rig& rig) {
  switch (entry_of(of.kind).argument) {
    case Argument::jack:
      return of.subjects.empty() ? std::vector<JackId>{} : std::vector<JackId>{JackId{of.subjects.front()}};
    case Argument::circuit: return rig.circuits[of.subjects.front()].jacks;
    case Argument::group: return rig.groups[of.subjects.front()].jacks;
    case Argument::none: break;
    case Argument::point: case Argument::channel: return {};
  }
  std::vector<JackId> all;
  for (std::size_t i = 0; i < rig.jacks.size(); ++i) all.emplace_back(i);
  return all;
}

Force full_load(const Jack& jack, const Plan& plan) {
  return Force::from_si(jack.planned_share.si() * plan.column_expected.si());
}

double bound_value(const Bound& bound, const QuantityRef& of, const Rig& rig, const Plan& plan, const Step* step) {
  double value = bound.constant;
  for (const Term& term : bound.terms) value += term.factor * reference_value(term.reference, of, rig, plan, step);
  return value;
}

}  // namespace standfast
