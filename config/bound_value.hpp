// What a bound comes to, and which jacks a quantity is made of: the arithmetic of checking a plan before it runs.
#pragma once

#include <vector>

#include "config/rig.hpp"
#include "config/stages.hpp"

namespace standfast {

// The jacks whose loads or pressures a quantity is made of; empty for movements and temperatures.
std::vector<JackId> jacks_of(const QuantityRef& of, const Rig& rig);

// The load planned at 100 %: planned share x expected column load.
Force full_load(const Jack& jack, const Plan& plan);

// SI. `step` is the step that is due; null: the target counts as 0. A jack that the step does not move has no target.
double bound_value(const Bound& bound, const QuantityRef& of, const Rig& rig, const Plan& plan, const Step* step);

}  // namespace standfast
