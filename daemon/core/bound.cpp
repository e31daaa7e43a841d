#include "daemon/core/bound.hpp"

#include <algorithm>

#include "config/bound_value.hpp"

namespace standfast {

std::optional<Amount> worked_out(const Bound& bound, const QuantityRef& quantity, const Rig& rig, const Plan& plan,
                                 const Step* step) {
  const bool of_step = std::any_of(bound.terms.begin(), bound.terms.end(),
                                   [](const Term& term) { return term.reference == Reference::target; });
  if (of_step && !step) return std::nullopt;
  return Amount{quantity.dimension, bound_value(bound, quantity, rig, plan, step)};
}

}  // namespace standfast
