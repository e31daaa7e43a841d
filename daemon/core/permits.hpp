// Giving, keeping and ending the permit. Giving asks for everything; keeping needs everything still to be so.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "config/result.hpp"
#include "daemon/core/refusal.hpp"
#include "daemon/core/state.hpp"

namespace standfast {

// Why this permit cannot be given now; none if it can. The persons' authority is not asked here.
std::optional<Refusal> refusal_to_permit(const State& state, PermitKind kind);

// Gives it. `action` has been found good, `value` of it parsed.
void give(State& state, Permit permit, std::vector<EffectRow>& rows);

// The limits that watch nothing yet because their windows fill only with the work, as a line for the person and the record;
// empty if there are none.
std::string still_filling(const State& state);

// What those who were given it must know: that the circuits they named are no switch, and what is still filling; empty if
// there is nothing.
std::string words_with_permit(const State& state);

void end_permit(State& state, Cause cause, const std::string& by, std::vector<EffectRow>& rows);

// After every evaluation: is there still every ground for it?
void settle_permit(State& state, std::vector<EffectRow>& rows);

// `circuits` text and bound of a permit from an action: see permit_words.cpp.
Result<Permit, Refusal> permit_from(const State& state, PermitKind kind, const Action& action);

}  // namespace standfast
