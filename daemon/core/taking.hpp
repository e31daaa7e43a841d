// What each kind of event changes before anything is evaluated.
#pragma once

#include <vector>

#include "daemon/core/limits.hpp"
#include "daemon/core/state.hpp"

namespace standfast {

// Another boot's clock begins at nought again; the engine's time does not. From a Started of another boot on, every
// instant of the wire and the clock is moved by `State::shift`, so that the outage counts as long as the wall says.
void note_boot(State& state, const Event& event);

// Takes the event in; `fresh` says from then on which channels it brought readings for.
void take(State& state, const Event& event, Fresh& fresh, std::vector<EffectRow>& rows);

// Channels that have gone stale by `state.now` lose their number, which is news to their limits.
void lose_stale(State& state, Fresh& fresh);

// Moves the answer to an action behind the rows of what it changed.
void answer_last(std::vector<EffectRow>& rows);

}  // namespace standfast
