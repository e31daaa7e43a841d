// The health of the instruments, as alarms of their own. A channel that is needed and has no number is a HOLD (a REVIEW
// where only a REVIEW needs it), whatever its limits would have said.
#pragma once

#include <optional>
#include <vector>

#include "daemon/core/limits.hpp"
#include "daemon/core/state.hpp"

namespace standfast {

inline constexpr Duration calm_for = seconds(5);  // Good for so long, and within
inline constexpr double calm_sigmas = 3;          // so many standard uncertainties of where it stood before the fault.

// After the readings of this instant: who is good, since when, and where he stood.
void note_instruments(State& state);

// And of each channel just read: where it stands while nobody doubts its number, and where its twins stand beside it.
// A gauge that has come apart from its twins is not believed here, whichever of them is right.
void note_where_they_stand(State& state, const Fresh& fresh);

void add_instrument_conditions(const State& state, std::vector<Condition>& conditions);

// A unit or bus that is frozen: one alarm for all its channels, as high as the one that is needed most, at most HOLD.
void add_unit_conditions(const State& state, std::vector<Condition>& conditions);

// A bus on which too many polls fail is for review; it needs no reset.
void add_bus_conditions(const State& state, std::vector<Condition>& conditions);

// The channel is good again as the technician's reset asks.
bool is_calm_again(const State& state, std::size_t channel);
// It is not, and may come to be: where it stood before it was lost is known.
bool may_calm_again(const State& state, std::size_t channel);

// A channel never read yet is given its stale time from the start of the job before that counts as a fault.
std::optional<Instant> next_never_read(const State& state);

}  // namespace standfast
