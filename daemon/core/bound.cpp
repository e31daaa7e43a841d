#include "daemon/core/bound.hpp"

#include "config/ensure.hpp"

namespace standfast {
namespace {

bool is_of_a_jack(const QuantityRef& quantity) { return entry_of(quantity.kind).argument == Argument::jack; }

const Jack& jack_of(const QuantityRef& quantity, const Rig& rig) {
  ENSURE(is_of_a_jack(quantity));  // The loader refuses `rated`, `stroke` and `share` for what has no jack.
  return rig.jacks[quantity.subjects[0]];
}

bool is_counted(const QuantityRef& quantity, const Rig& rig, JackId jack) {
  const auto contains = [&](const std::vector<JackId>& jacks) {
    for (const JackId each : jacks)
      if (each == jack) return true;
    return false;
  };
  if (is_of_a_jack(quantity)) return jack.at() == quantity.subjects[0];
  if (quantity.kind == QuantityKind::circuit_load) return contains(rig.circuits[quantity.subjects[0]].jacks);
  if (quantity.kind == QuantityKind::group_load) return contains(rig.groups[quantity.subjects[0]].jacks);
  return true;
}

double target_of(const QuantityRef& quantity, const Rig& rig, const Step& step, bool full) {
  double sum = 0;
  for (const JackTarget& target : step.targets)
    if (is_counted(quantity, rig, target.jack)) sum += full ? target.full.si() : target.load.si();
  return sum;
}

}  // namespace

std::optional<Amount> worked_out(const Bound& bound, const QuantityRef& quantity, const Rig& rig, const Plan& plan,
                                 const Step* step) {
  double si = bound.constant;
  for (const Term& term : bound.terms) {
    double reference = 0;
    switch (term.reference) {
      case Reference::target: case Reference::full_target:
        if (!step) return std::nullopt;
        reference = target_of(quantity, rig, *step, term.reference == Reference::full_target);
        break;
      case Reference::rated: reference = jack_of(quantity, rig).rated.si(); break;
      case Reference::column_low: reference = plan.column_low.si(); break;
      case Reference::column_expected: reference = plan.column_expected.si(); break;
      case Reference::column_high: reference = plan.column_high.si(); break;
      case Reference::planned_share: reference = jack_of(quantity, rig).planned_share.si(); break;
      case Reference::stroke: reference = jack_of(quantity, rig).stroke_limit.si(); break;
    }
    si += term.factor * reference;
  }
  return Amount{quantity.dimension, si};
}

}  // namespace standfast
