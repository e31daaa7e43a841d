// The value of a channel that a person reads: from its entry on, by its age alone.
#pragma once

#include "daemon/core/channel_value.hpp"

namespace standfast {

// A value that a person entered twice: good for `every` of its channel, doubted from then on, and bad once `stale_after` old,
// which is twice that. It is two readings, so `earlier` is the same.
void take_entry(ChannelState& state, const Channel& channel, double si, Instant at, WallTime wall);

// Works out anew when the newest entry, if there is one, is due and stale.
void set_due(ChannelState& state);

// It is due: in doubt from now on.
void fall_due(ChannelState& state);

}  // namespace standfast
