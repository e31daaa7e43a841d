// Where the engine has to look with an event, so that it need not look everywhere: which limits a reading may change, which
// readings and limits are not as all the others are, and when the first reading grows old. Derived from the state and kept up
// with it; it says nothing that a walk over everything would not.
#pragma once

#include <cstddef>
#include <vector>

#include "daemon/core/earliest.hpp"
#include "daemon/core/place_set.hpp"

namespace standfast {

struct State;

// By channel of the rig: did this event bring it a new reading, or take its number away?
using Fresh = PlaceSet;

struct Attention {
  // Of the job, and of the limits in force.
  std::vector<std::vector<std::size_t>> limits_behind;  // By channel: those whose value or gate it is part of.
  std::vector<std::vector<std::size_t>> channels_on;    // By bus.
  PlaceSet counted_from_a_mark;                         // Limits.
  std::vector<std::size_t> rates;                       // Limits.

  // Of what stands now. Channels:
  PlaceSet not_good;  // Their reading is not.
  PlaceSet unnoted;   // What is remembered of the instrument may lie behind its reading.
  Earliest stale;     // When the answer no longer counts, or the next entry is due.
  // Limits:
  PlaceSet filling;   // The budget of a level.
  PlaceSet active;    // A level.

  PlaceSet touched;   // Of the event in hand: limits behind a fresh channel. Kept for its memory.
};

// Everything anew: the job, the limits in force or what a person may change has changed.
void renew_attention(State& state);

// What stands now anew, by a walk over everything: were there a fault in what is kept up, it would last a second.
void look_everywhere(State& state);

// The readings of these channels have changed.
void note_readings(State& state, const Fresh& fresh);

// What this limit remembers has changed.
void note_watches(State& state, std::size_t limit);

}  // namespace standfast
