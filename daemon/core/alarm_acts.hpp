// What persons do with alarms: they acknowledge them, and reset those that latch. What comes back is why it cannot be done.
#pragma once

#include <optional>
#include <vector>

#include "daemon/core/authority.hpp"
#include "daemon/core/state.hpp"

namespace standfast {

// Act::acknowledge. `object`: the number of an open alarm; `all`, or nothing: every one.
std::optional<Refusal> acknowledge(State& state, const Action& action, std::vector<EffectRow>& rows);

// Act::reset, with `object` likewise: all or nothing is done. A gauge that has stepped alone is taken as true by its number only.
std::optional<Refusal> reset(State& state, const Action& action, std::vector<EffectRow>& rows);

// Who may reset this open alarm as things stand now.
Requirement needed_to_reset(const State& state, const Alarm& alarm);

}  // namespace standfast
