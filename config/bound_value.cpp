#include "config/bound_value.hpp"

#include <algorithm>

namespace standfast {

namespace {

template <class See>
void for_each_jack(const QuantityRef& of, const Rig& rig, See see) {
  const auto all_of = [&](const std::vector<JackId>& jacks) { std::for_each(jacks.begin(), jacks.end(), see); };
  switch (entry_of(of.kind).argument) {
    case Argument::jack:
      if (!of.subjects.empty()) see(JackId{of.subjects.front()});
      return;
    case Argument::circuit: return all_of(rig.circuits[of.subjects.front()].jacks);
    case Argument::group: return all_of(rig.groups[of.subjects.front()].jacks);
    case Argument::point: case Argument::channel: return;
    case Argument::none: break;
  }
  for (std::size_t i = 0; i < rig.jacks.size(); ++i) see(JackId{i});
}

const Jack* first_jack(const QuantityRef& of, const Rig& rig) {
  const Jack* first = nullptr;
  for_each_jack(of, rig, [&](JackId id) { first = first ? first : &rig.jacks[id.at()]; });
  return first;
}

bool is_behind(JackId jack, const QuantityRef& of, const Rig& rig) {
  bool found = false;
  for_each_jack(of, rig, [&](JackId id) { found = found || id == jack; });
  return found;
}

double target_of(const QuantityRef& of, const Rig& rig, const Step* step) {
  double sum = 0;
  if (step == nullptr) return sum;
  for (const JackTarget& target : step->targets)
    if (is_behind(target.jack, of, rig)) sum += target.load.si();
  return sum;
}

double reference_value(Reference reference, const QuantityRef& of, const Rig& rig, const Plan& plan, const Step* step) {
  const Jack* jack = first_jack(of, rig);
  switch (reference) {
    case Reference::target: return target_of(of, rig, step);
    case Reference::full_target: {
      double sum = 0;
      for_each_jack(of, rig, [&](JackId id) { sum += full_load(rig.jacks[id.at()], plan).si(); });
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
  std::vector<JackId> jacks;
  for_each_jack(of, rig, [&](JackId id) { jacks.push_back(id); });
  return jacks;
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
