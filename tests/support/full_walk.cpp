#include "tests/support/full_walk.hpp"

#include <algorithm>

namespace standfast::test {
namespace {

// What is remembered of a good instrument is where it stands, unless an alarm or a place it has left keeps it back.
bool is_noted(const State& state, std::size_t channel) {
  const Reading& reading = state.values.channels[channel].reading;
  const InstrumentMemory& memory = state.instruments[channel];
  if (reading.quality != Quality::good) return !memory.good_since;
  return memory.good_since && memory.before == reading.value.si && memory.before_sigma == reading.uncertainty;
}

std::string overlooked_channel(const State& state, std::size_t channel) {
  const Attention& attention = state.attention;
  const std::string& of = state.job->rig.channels[channel].name;
  if (attention.not_good[channel] != (state.values.channels[channel].reading.quality != Quality::good)) return "the quality of " + of;
  if (!attention.unnoted[channel] && !is_noted(state, channel)) return "what is remembered of " + of;
  if (const auto& bus = state.job->rig.channels[channel].bus) {
    const auto& on = attention.channels_on[bus->at()];
    if (std::find(on.begin(), on.end(), channel) == on.end()) return "the bus of " + of;
  }
  return {};
}

bool is_known_of(const Attention& attention, ChannelId channel, std::size_t limit) {
  const auto& behind = attention.limits_behind[channel.at()];
  return std::find(behind.begin(), behind.end(), limit) != behind.end();
}

std::string overlooked_limit(const State& state, std::size_t limit) {
  const auto& watches = state.limits[limit].watches;
  const std::string& of = state.limits[limit].name;
  const LimitInForce& each = state.in_force.limits[limit];
  const auto any = [&](auto is) { return std::any_of(watches.begin(), watches.end(), is); };
  for (const auto* channels : {&each.channels, &each.gate_channels})
    for (const ChannelId channel : *channels)
      if (!is_known_of(state.attention, channel, limit)) return of + " behind " + state.job->rig.channels[channel.at()].name;
  if (state.attention.filling[limit] != any([](const Watch& watch) { return watch.filling == Filling::filling; }))
    return "a budget that fills, of " + of;
  if (state.attention.active[limit] != any([](const Watch& watch) { return watch.active; })) return "an active level of " + of;
  if (state.attention.counted_from_a_mark[limit] == each.counted_from.empty()) return "what " + of + " counts from";
  const auto& rates = state.attention.rates;
  if (each.limit.of.rate != (std::find(rates.begin(), rates.end(), limit) != rates.end())) return "the rate of " + of;
  return {};
}

}  // namespace

std::optional<Instant> next_stale(std::span<const ChannelState> channels) {
  std::optional<Instant> next;
  for (const ChannelState& state : channels)
    for (const auto& at : {state.due_at, state.stale_at})
      if (at && (!next || *at < *next)) next = at;
  return next;
}

std::string overlooked(const State& state) {
  if (!state.job) return {};
  if (state.attention.stale.at() != next_stale(state.values.channels)) return "when the first reading grows old";
  for (std::size_t c = 0; c < state.values.channels.size(); ++c)
    if (std::string what = overlooked_channel(state, c); !what.empty()) return what;
  for (std::size_t i = 0; i < state.limits.size(); ++i)
    if (std::string what = overlooked_limit(state, i); !what.empty()) return what;
  return {};
}

}  // namespace standfast::test
