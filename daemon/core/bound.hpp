// A bound as the plan states it, worked out for the step now due: `target plus 5 % of full target` becomes newtons.
#pragma once

#include <optional>

#include "config/quantity_kinds.hpp"
#include "config/rig.hpp"
#include "config/stages.hpp"

namespace standfast {

// None where the bound refers to a target and no step is due: the bound is then not in force, and is listed so.
std::optional<Amount> worked_out(const Bound& bound, const QuantityRef& quantity, const Rig& rig, const Plan& plan,
                                 const Step* step);

}  // namespace standfast
