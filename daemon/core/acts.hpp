// What persons do. What makes safe is never refused; what loosens needs authority, the newest picture and grounds.
#pragma once

#include <vector>

#include "daemon/core/state.hpp"

namespace standfast {

// Applies one act and writes its answer as the last row.
void act(State& state, const Action& action, std::vector<EffectRow>& rows);

}  // namespace standfast
