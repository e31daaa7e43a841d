#include "daemon/core/entered_value.hpp"

#include "daemon/core/doubt.hpp"

namespace standfast {

void take_entry(ChannelState& state, const Channel& channel, double si, Instant at, WallTime wall) {
  state.flaw = Flaw::none;
  state.reading = scaled_reading(channel, si, at);
  if (certificate_overdue(channel.certificate, wall)) add_doubt(state.reading, Cause::certificate_overdue);
  state.earlier = state.steadied = state.reading;
  set_due(state);
}

void set_due(ChannelState& state) {
  if (state.reading.quality == Quality::bad) return;
  state.due_at = state.reading.newest + state.every;
  state.stale_at = state.reading.newest + state.stale_after;
}

void fall_due(ChannelState& state) {
  state.due_at.reset();
  for (Reading* reading : {&state.reading, &state.earlier, &state.steadied}) add_doubt(*reading, Cause::entry_overdue);
}

}  // namespace standfast
