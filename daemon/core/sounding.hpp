// The sounder. HOLD and STOP that nobody has seen sound; silence ends the sound for a while and nothing else.
#pragma once

#include <optional>

#include "daemon/core/state.hpp"

namespace standfast {

inline constexpr Duration silence_at_most = seconds(120);
inline constexpr Duration stop_sounds_at_least = seconds(30);
inline constexpr Duration repeats_after = minutes(10);  // A STOP whose condition stands is told again.

void silence(State& state, Duration how_long);

// An unresolved STOP becomes unacknowledged again after `repeats_after`. Every alarm that has become so by the rows from
// `news` on ends a silence, whether it is a new one or has come back; a STOP that has tripped among them sounds for its least
// time.
void settle_sound(State& state, std::size_t news, std::vector<EffectRow>& rows);

std::optional<Instant> next_of_sound(const State& state);

}  // namespace standfast
