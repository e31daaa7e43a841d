#include "daemon/core/attention.hpp"

#include <algorithm>

#include "daemon/core/state.hpp"

namespace standfast {
namespace {

std::optional<Instant> earlier(std::optional<Instant> one, std::optional<Instant> other) {
  if (!one || !other) return one ? one : other;
  return std::min(*one, *other);
}

void note_reading(State& state, std::size_t place) {
  const ChannelState& channel = state.values.channels[place];
  state.attention.not_good.put(place, channel.reading.quality != Quality::good);
  state.attention.stale.set(place, earlier(channel.stale_at, channel.due_at));
  state.attention.unnoted.put(place);
}

void renew_limits_behind(State& state) {
  Attention& attention = state.attention;
  const std::vector<LimitInForce>& limits = state.in_force.limits;
  attention.limits_behind.assign(state.values.channels.size(), {});
  attention.counted_from_a_mark.begin_anew(limits.size());
  attention.rates.clear();
  for (std::size_t i = 0; i < limits.size(); ++i) {
    std::vector<ChannelId> behind = limits[i].channels;
    behind.insert(behind.end(), limits[i].gate_channels.begin(), limits[i].gate_channels.end());
    for (const ChannelId channel : behind) attention.limits_behind[channel.at()].push_back(i);
    attention.counted_from_a_mark.put(i, !limits[i].counted_from.empty());
    if (limits[i].limit.of.rate) attention.rates.push_back(i);
  }
}

void renew_channels_on(State& state) {
  state.attention.channels_on.clear();
  if (!state.job) return;
  state.attention.channels_on.resize(state.job->rig.buses.size());
  for (std::size_t c = 0; c < state.job->rig.channels.size(); ++c)
    if (const auto& bus = state.job->rig.channels[c].bus) state.attention.channels_on[bus->at()].push_back(c);
}

}  // namespace

void renew_attention(State& state) {
  renew_limits_behind(state);
  renew_channels_on(state);
  look_everywhere(state);
}

void look_everywhere(State& state) {
  Attention& attention = state.attention;
  const std::size_t channels = state.values.channels.size(), limits = state.limits.size();
  attention.not_good.begin_anew(channels);
  attention.unnoted.begin_anew(channels);
  attention.stale.begin_anew(channels);
  for (std::size_t c = 0; c < channels; ++c) note_reading(state, c);
  attention.filling.begin_anew(limits);
  attention.active.begin_anew(limits);
  attention.touched.begin_anew(limits);
  for (std::size_t i = 0; i < limits; ++i) note_watches(state, i);
}

void note_readings(State& state, const Fresh& fresh) {
  fresh.for_each([&](std::size_t channel) { note_reading(state, channel); });
}

void note_watches(State& state, std::size_t limit) {
  const auto& watches = state.limits[limit].watches;
  const auto any = [&](auto is) { return std::any_of(watches.begin(), watches.end(), is); };
  state.attention.filling.put(limit, any([](const Watch& watch) { return watch.filling == Filling::filling; }));
  state.attention.active.put(limit, any([](const Watch& watch) { return watch.active; }));
}

}  // namespace standfast
