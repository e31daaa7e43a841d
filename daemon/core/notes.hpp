// Words that a person writes down: a gap, a shim, a crack. The one about the jack valves loosens, and needs two.
#pragma once

#include <optional>

#include "daemon/core/action.hpp"
#include "daemon/core/refusal.hpp"

namespace standfast {

struct State;

// Act::enter_note. None: done, and a criterion that asks for its subject in this stage is met.
std::optional<Refusal> enter_note(State& state, const Action& action);

}  // namespace standfast
