// The sounder. HOLD and STOP that nobody has seen sound; silence ends the sound for a while and nothing else.
#pragma once

#include <optional>

#include "daemon/core/state.hpp"

namespace standfast {

inline constexpr Duration silence_at_most = seconds(120);
inline constexpr Duration stop_sounds_at_least = seconds(30);
inline constexpr Duration repeats_after = minutes(10);  // A STOP whose condition stands is told again.

void silence(State& state, Duration how_long);

// Alarms newer than `last` end a silence, and a STOP among them sounds for its least time; an unresolved STOP becomes
// unacknowledged again after `repeats_after`.
void settle_sound(State& state, AlarmNumber last, std::vector<EffectRow>& rows);

std::optional<Instant> next_of_sound(const State& state);

}  // namespace standfast
