// Once a second: the derived values as a row each, and every ten minutes a snapshot. Both come with a scan, never with
// time alone, so that ticks leave no trace.
#pragma once

#include <vector>

#include "daemon/core/state.hpp"

namespace standfast {

inline constexpr Duration summary_every = seconds(1);
inline constexpr Duration snapshot_every = minutes(10);

// One in the rows of one event is enough: it holds the state behind all of them.
void ask_for_snapshot(Cause why, std::vector<EffectRow>& rows);

// True: it was time for a summary.
bool summarise(State& state, std::vector<EffectRow>& rows);

}  // namespace standfast
