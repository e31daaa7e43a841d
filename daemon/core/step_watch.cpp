#include "daemon/core/step_watch.hpp"

#include <algorithm>
#include <cmath>

#include "daemon/core/channel_value.hpp"
#include "daemon/core/doubt.hpp"
#include "daemon/core/quantity/mark.hpp"

namespace standfast {
namespace {

constexpr Dimension length{Base::length, Per::none}, pressure{Base::pressure, Per::none};
constexpr int readings_that_tell = 2;

// By more than this two readings of the channel, with these standard uncertainties, are a step apart. Of two independent
// readings the variances add: JCGM 100:2008, 5.1.2.
double least_step(const Channel& channel, double one, double other) {
  const double noise = std::max(step_sigmas * std::sqrt(one * one + other * other), step_resolutions * channel.resolution);
  return channel.dimension == length ? std::max(noise, least_knock) : noise;
}

bool is_away(const Channel& channel, const LeftPlace& place, const Reading& reading) {
  const double step = least_step(channel, place.uncertainty, reading.uncertainty);
  const auto exceeds_by_a_step = [&](double more, double less) {
    return exceeds({channel.dimension, more - less}, {channel.dimension, step});
  };
  return exceeds_by_a_step(reading.value.si, place.high) || exceeds_by_a_step(place.low, reading.value.si);
}

// ---- As a partner of others ----

void note_movement(ChannelState& state, const Channel& channel) {
  StepWatch& watch = state.step;
  LatelySeen& lately = watch.lately;
  const double value = state.reading.value.si;
  const Instant at = state.reading.newest;
  if (!lately.since || !state.earlier.has_number()) {
    lately = {at, value, value, value, value};
  } else if (at - *lately.since >= std::max(state.every, felt_before)) {
    lately = {at, value, value, lately.low, lately.high};
  }
  lately.low = std::min(lately.low, value);
  lately.high = std::max(lately.high, value);
  const double gone = std::max(lately.high, lately.high_before) - std::min(lately.low, lately.low_before);
  const double asked = share_of_step * least_step(channel, state.reading.uncertainty, state.reading.uncertainty);
  if (exceeds({channel.dimension, gone}, {channel.dimension, asked})) watch.moved_at = at;
}

enum class Company : std::uint8_t { none, not_heard_yet, shares, stands };

Company company_of(std::span<const ChannelState> channels, const ChannelState& gauge) {
  const LeftPlace& left = *gauge.step.left;
  Company company = Company::none;
  for (const ChannelState& other : channels) {
    const StepWatch& watch = other.step;
    if (&other == &gauge || watch.role == StepRole::none || watch.doubted || !other.reading.has_number()) continue;
    if (watch.moved_at && *watch.moved_at >= left.last_there - std::max(other.every, felt_before)) return Company::shares;
    if (other.reading.newest - left.first_away < felt_after) company = Company::not_heard_yet;
    else if (company == Company::none) company = Company::stands;
  }
  return company;
}

// ---- Its own steps ----

void note_place(ChannelState& state, const Channel& channel) {
  StepWatch& watch = state.step;
  const Reading &now = state.reading, &last = state.earlier;
  const bool goes_on = now.has_number() && last.has_number();
  if (!goes_on) {
    watch.before.reset();
    watch.readings_back = 0;
    if (!watch.doubted) watch.left.reset();
    return;
  }
  if (watch.doubted) {
    watch.readings_back = is_away(channel, *watch.left, now) ? 0 : watch.readings_back + 1;
    watch.doubted = watch.readings_back < readings_that_tell;
    if (!watch.doubted) watch.left.reset();
  } else if (watch.left) {
    if (is_away(channel, *watch.left, now)) ++watch.left->readings_away;
    else watch.left.reset();  // One spike.
  } else if (watch.before) {
    const LeftPlace place{std::min(*watch.before, last.value.si), std::max(*watch.before, last.value.si), last.uncertainty,
                          last.newest, now.newest, 1};
    if (is_away(channel, place, now)) watch.left = place;
  }
  watch.before = last.value.si;
}

void lay_doubt(ChannelState& state) {
  state.step.under = state.reading.cause;
  state.step.under_steadied = state.steadied.cause;
  add_doubt(state.reading, Cause::lone_step);
  add_doubt(state.steadied, Cause::lone_step);
}

void judge(std::span<ChannelState> channels, ChannelState& gauge, bool is_counted_from, const StepsWithin& within) {
  StepWatch& watch = gauge.step;
  if (!watch.left || watch.left->readings_away < readings_that_tell) return;
  const bool counts = is_counted_from || within.baseline_is_taken;
  const bool oil_moves_it = watch.role == StepRole::ram && within.oil_at && *within.oil_at >= watch.left->last_there - felt_before;
  const Company company = company_of(channels, gauge);
  if (!counts || oil_moves_it || company == Company::shares || company == Company::none) {
    watch.left.reset();
  } else if (company == Company::stands) {
    if (is_counted_from) watch.doubted = true;
    else watch.left.reset();
    lay_doubt(gauge);
  }
}

void take_back(Reading& reading, Cause under) {
  if (reading.cause != Cause::lone_step) return;
  reading.cause = under;
  reading.quality = doubt_of(under).quality;
}

}  // namespace

// What is read by hand moves by jumps of hours: it is neither judged nor waited for.
void set_step_roles(std::span<ChannelState> channels, const Rig& rig) {
  const auto set = [&](std::size_t channel, StepRole role) {
    channels[channel].step.role = rig.channels[channel].bus ? role : StepRole::none;
  };
  for (std::size_t c = 0; c < channels.size(); ++c) {
    const Dimension dimension = rig.channels[c].dimension;
    set(c, dimension == length || dimension == pressure ? StepRole::partner : StepRole::none);
  }
  for (const Point& point : rig.points)
    for (const ChannelId gauge : point.gauges) set(gauge.at(), StepRole::gauge);
  for (const Jack& jack : rig.jacks)
    if (jack.stroke_channel) set(jack.stroke_channel->at(), StepRole::ram);
}

void watch_steps(std::span<ChannelState> channels, const Job& job, const Scan& scan, const StepsWithin& within) {
  if (scan.flaw != Flaw::none || scan.block.at() >= job.polls.blocks.size()) return;
  const Block& block = job.polls.blocks[scan.block.at()];
  const auto for_each_fresh = [&](auto what) {
    for (const Block::ChannelPlace& place : block.channels) {
      ChannelState& state = channels[place.channel.at()];
      if (state.step.role != StepRole::none && state.flaw == Flaw::none) what(state, place.channel.at());
    }
  };
  for_each_fresh([&](ChannelState& state, std::size_t c) {
    if (state.reading.has_number()) note_movement(state, job.rig.channels[c]);
    if (state.step.role != StepRole::partner) note_place(state, job.rig.channels[c]);
  });
  for_each_fresh([&](ChannelState& state, std::size_t c) {
    const auto& baseline = within.baseline.channels;
    if (state.step.doubted) lay_doubt(state);
    else judge(channels, state, c < baseline.size() && baseline[c].has_value(), within);
  });
}

void take_step_as_true(ChannelState& channel) {
  take_back(channel.reading, channel.step.under);
  take_back(channel.steadied, channel.step.under_steadied);
  channel.step.doubted = false;
  channel.step.left.reset();
  channel.step.before.reset();
}

}  // namespace standfast
