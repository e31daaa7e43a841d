// The bits read from wires: does the pump run, is the site's own stop pressed? A bit that has not been read for its stale
// time is not known; a site stop that is not known is a HOLD of its own, for it may have been pressed.
#pragma once

#include <optional>
#include <vector>

#include "daemon/core/state.hpp"

namespace standfast {

// Three polls, but at least two seconds.
Duration stale_after(const Input& input);

void take_inputs(State& state, const Block& block, const Scan& scan, Instant taken_at);
void forget_stale_inputs(State& state);
std::optional<Instant> next_stale_input(const State& state);

void add_input_conditions(const State& state, std::vector<Condition>& conditions);

}  // namespace standfast
