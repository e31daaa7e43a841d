// What quantities are counted from: which marks a limit needs, and whether they are there.
#pragma once

#include <optional>
#include <vector>

#include "daemon/core/refusal.hpp"
#include "daemon/core/state.hpp"

namespace standfast {

// What a quantity is counted from; empty where it needs no mark.
CountedFrom counted_from(const QuantityRef& of, const Rig& rig);

// The mark itself; null where the work has not come to it.
const MarkValues* mark_of(const QuantityRef& of, const State& state);

bool holds(const MarkValues& mark, const CountedFrom& needed);

// Every gauge of every point, the rams, and whatever the plan counts from the mark beside them.
MarksNeeded marks_needed(const Job& job);

bool has_baseline(const State& state);

// Why this stage cannot be entered: a limit of it counts from what has not been taken and cannot be taken now. The start of
// the stage is taken of good readings at its entry, and only where it was not taken at an earlier one.
std::optional<Refusal> missing_mark(const State& state, std::size_t stage);

// A limit in force whose mark has gone, with another rig or plan, and is not being taken.
bool counts_from_nothing(const State& state, const LimitInForce& limit);

}  // namespace standfast
