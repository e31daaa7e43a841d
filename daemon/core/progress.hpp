// The stages moving on: bands, observation, reading sets, criteria, gates, marks.
#pragma once

#include <string>
#include <vector>

#include "daemon/core/limits.hpp"
#include "daemon/core/state.hpp"

namespace standfast {

// One happening to the newest stage, with its row.
void happen(State& state, StageHappening happening, const PersonClaim& by, const PersonClaim& second,
            const std::string& facts, std::vector<EffectRow>& rows);

// What time and fresh readings change by themselves.
void settle_stage(State& state, const Fresh& fresh, std::vector<EffectRow>& rows);

// Readings of this scan enter the marks that are being taken.
void take_marks(State& state, const Scan& scan);
// What a person entered enters the marks that are being taken.
void take_marks(State& state, ChannelId entered);

// Marks and reading sets in the making belong to the stage in which they were begun.
void forget_what_is_being_taken(State& state);

// A person enters a stage; its steps, limits, polls, references and marks begin.
void enter_stage(State& state, std::size_t stage, const PersonClaim& by, std::vector<EffectRow>& rows);

// After a restart: the polls of the stage now running, and the marks that were being taken, from their beginning.
void resume_stage(State& state);

// The last of the signatures is there: next step, or the stage is closed.
void go_on(State& state, const PersonClaim& by, std::vector<EffectRow>& rows);

std::optional<Instant> next_of_stage(const State& state);

}  // namespace standfast
