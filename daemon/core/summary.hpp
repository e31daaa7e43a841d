// Once a second: the derived values as a row each, and every ten minutes a snapshot. Both come with a scan, never with
// time alone, so that ticks leave no trace.
#pragma once

#include <vector>

#include "daemon/core/state.hpp"

namespace standfast {

inline constexpr Duration summary_every = seconds(1);
inline constexpr Duration snapshot_every = minutes(10);

void summarise(State& state, std::vector<EffectRow>& rows);

}  // namespace standfast
