// Channels that a person reads and enters: a surveyor's level, a feeler. Entered twice with the unit, judged once at entry,
// good for as long as the rig or the stage says; then due (no new permit where it is needed), and after twice that, no value.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "daemon/core/action.hpp"
#include "daemon/core/effect.hpp"
#include "daemon/core/refusal.hpp"

namespace standfast {

struct State;

// Between the two amounts in the value of the act: `2.1 mm, again 2.1 mm`.
inline constexpr std::string_view entered_again = ", again ";

// Act::enter_reading: both amounts must be the same, to less than the channel's resolution, and lie in its range with its
// margin. The first is the reading. An entry that was wrong is corrected by another. None: taken.
std::optional<Refusal> enter_by_hand(State& state, const Action& action);

// A reading that was meant and would be kept as words: the subject of the note is a channel read by hand, or nearly.
std::optional<Refusal> refusal_as_note(const State& state, const Action& action);

// The channel into which this act, which is done, has brought a reading; none for every other act, and where it was refused.
std::optional<ChannelId> entered_by(const State& state, const Action& action, const std::vector<EffectRow>& rows);

// Whose entry the baseline that is being taken still waits for: `enter LEVEL, FEELER`. Empty: nobody's.
std::string awaited_by_baseline(const State& state);

// It has a value, and that is as old as its channel may be read apart, or older.
bool is_overdue(const State& state, std::size_t channel);

}  // namespace standfast
