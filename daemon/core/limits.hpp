// The limits at work: fresh readings are compared, budgets account for time, what is active becomes a condition.
#pragma once

#include <optional>
#include <vector>

#include "daemon/core/state.hpp"

namespace standfast {

// Every limit with a fresh channel behind it is evaluated once.
void observe_limits(State& state, const Fresh& fresh);

// Time alone has come to `state.now`: budgets that are full by now trip.
void pass_limits(State& state);

// The next instant at which a budget fills.
std::optional<Instant> next_trip(const State& state);

void add_limit_conditions(const State& state, std::vector<Condition>& conditions);

// Gives limits that were not in force before their present value, so that nobody waits for a scan to be told it, and opens and
// shuts the gates of all as they stand now: what is gated off asks no permit for a value, and nothing else is passed over.
// Budgets begin with the next reading.
void look_at_limits(State& state);

// Limits that were not in force before judge what has been entered by hand: its next reading may come in half a day.
void judge_by_hand(State& state);

// The stage, its step or the job has changed: the limits that count are worked out anew, memory goes on by name.
void renew_limits(State& state);

}  // namespace standfast
