#include "daemon/core/reading_set.hpp"

#include <algorithm>

#include "daemon/core/criteria.hpp"

namespace standfast {
namespace {

constexpr Dimension metre{Base::length, Per::none}, newton{Base::force, Per::none};

struct Due { Instant from, at; };

std::optional<Due> next_set(const State& state, const Step& step) {
  const auto taken = static_cast<std::size_t>(state.run.reading_sets);
  if (!state.run.reached_at || taken >= step.read_at.size()) return std::nullopt;
  const Duration at = step.read_at[taken], before = taken == 0 ? Duration{} : step.read_at[taken - 1];
  return Due{*state.run.reached_at + std::max(before, at - state.job->plan.reading_set_window), *state.run.reached_at + at};
}

// A mean as a reading. Its uncertainty is the mean's own standard error.
Reading reading_of(const MarkWindow& window, Dimension dimension, Instant now) {
  if (window.spread.count == 0) return {.quality = Quality::bad, .cause = Cause::never_read, .value = {dimension, 0}};
  const MarkValue mean = window.value(now);
  return {.quality = Quality::good, .cause = Cause::none, .value = {dimension, mean.value}, .uncertainty = mean.standard_error,
          .oldest = window.from, .newest = *window.newest};
}

// What is read by hand stands in a set as it was last entered.
Reading reading_of(const State& state, ChannelId channel) {
  if (!state.job->rig.channels[channel.at()].bus) return state.values.channels[channel.at()].reading;
  return reading_of(state.set_taking->channels[channel.at()], metre, state.now);
}

// A set at the very instant of reaching has no window: it takes what stands.
MarkTaking as_it_stands(const State& state) {
  const ValueContext context = context_of(state, Take::as_read);
  MarkTaking set = start_mark(*state.job, Instant{}, {});
  for (std::size_t c = 0; c < set.channels.size(); ++c) set.channels[c].add(state.values.channels[c].reading);
  for (std::size_t j = 0; j < set.loads.size(); ++j) set.loads[j].add(load_of(JackId{j}, context).high);
  return set;
}

std::string text_of(const State& state) {
  const MarkTaking& set = *state.set_taking;
  const Rig& rig = state.job->rig;
  const auto& baseline = state.values.references.baseline.channels;
  std::string text;
  const auto add = [&](const std::string& name, const Reading& reading) {
    text += (text.empty() ? "" : "; ") + name + " " + value_text(reading);
  };
  for (std::size_t j = 0; j < rig.jacks.size(); ++j) {
    add("load " + rig.jacks[j].name, reading_of(set.loads[j], newton, state.now));
    if (const auto stroke = rig.jacks[j].stroke_channel)
      add("travel " + rig.jacks[j].name, reading_of(state, *stroke));
  }
  for (const Point& point : rig.points) {
    Gauges gauges{metre};
    for (const ChannelId gauge : point.gauges) {
      const auto since = gauge.at() < baseline.size() ? baseline[gauge.at()] : std::nullopt;
      gauges.add(change_since(reading_of(state, gauge), since, metre, !point.up_is_positive));
    }
    const Judged moved = gauges.movement().worst;
    add("movement " + point.name + " highest", moved.high);
    add("movement " + point.name + " lowest", moved.low);
  }
  return text;
}

}  // namespace

std::optional<Instant> next_set_begins(const State& state, const Step& step) {
  const auto due = next_set(state, step);
  return due && !state.set_taking ? std::optional{due->from} : std::nullopt;
}

void settle_reading_sets(State& state, const Step& step, std::vector<EffectRow>& rows) {
  if (!state.run.reached_at) state.set_taking.reset();
  for (auto due = next_set(state, step); due && due->from <= state.now; due = next_set(state, step)) {
    if (due->at == due->from) state.set_taking = as_it_stands(state);
    else if (!state.set_taking) state.set_taking = start_mark(*state.job, due->from, due->at - due->from);
    if (state.now < due->at) return;
    const Duration after = due->at - *state.run.reached_at;
    rows.emplace_back(ReadingSet{stage_in_force(state)->name, step.name, after, text_of(state)});
    state.set_taking.reset();
    ++state.run.reading_sets;
  }
}

}  // namespace standfast
