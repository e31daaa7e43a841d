// Reading sets: what every jack and point read, each the mean over the plan's window, at the times that the plan names
// behind the reaching of a step. A person reads a gauge as long; one noisy instant would tell another story.
#pragma once

#include "daemon/core/state.hpp"

namespace standfast {

// Sets that are due are written and counted; the window of the next is opened. Without a load that was reached: none.
void settle_reading_sets(State& state, const Step& step, std::vector<EffectRow>& rows);

// When the window of the step's next set opens: so long before its time, and not before the set in front of it was taken.
// None: all taken, or nothing reached.
std::optional<Instant> next_set_begins(const State& state, const Step& step);

}  // namespace standfast
