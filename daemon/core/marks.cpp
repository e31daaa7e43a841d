#include "daemon/core/marks.hpp"

#include <algorithm>

#include "config/depends.hpp"

namespace standfast {
namespace {

// Agreement and departure are counted from the baseline without saying so.
bool takes_mark(const QuantityRef& of) {
  const bool unsaid = of.kind == QuantityKind::agreement || of.kind == QuantityKind::predicted_departure;
  return (entry_of(of.kind).takes_since || unsaid) && !of.rate;
}

void add(CountedFrom& needed, const CountedFrom& more) {
  join(needed.channels, more.channels);
  for (const JackId jack : more.loads)
    if (std::find(needed.loads.begin(), needed.loads.end(), jack) == needed.loads.end()) needed.loads.push_back(jack);
}

template <class See>
void for_each_quantity(const Plan& plan, See see) {
  for (const Stage& stage : plan.stages) {
    for (const Limit& limit : stage.limits) {
      see(limit.of);
      if (limit.when) see(limit.when->of);
    }
    for (const Criterion& criterion : stage.proceed_when)
      if (criterion.kind == Criterion::Kind::quantity) see(criterion.of);
  }
}

CountedFrom needed_of(const Job& job, Since since, std::size_t mark) {
  CountedFrom needed;
  std::vector<ChannelId> gauges;
  for (const Point& point : job.rig.points)
    for (const ChannelId gauge : point.gauges)
      gauges.push_back(gauge);
  for (const Jack& jack : job.rig.jacks)
    if (jack.stroke_channel) gauges.push_back(*jack.stroke_channel);
  join(needed.channels, gauges);
  for_each_quantity(job.plan, [&](const QuantityRef& of) {
    if (takes_mark(of) && of.since == since && (since != Since::mark || of.mark == mark)) add(needed, counted_from(of, job.rig));
  });
  return needed;
}

bool is_taken(const std::vector<std::optional<MarkValue>>& values, std::size_t place) {
  return place < values.size() && values[place];
}

// The first thing that neither the mark holds nor a good reading could give it now; empty if there is none.
std::string untakable(const State& state, const MarkValues& mark, const CountedFrom& needed) {
  const Rig& rig = state.job->rig;
  for (const ChannelId channel : needed.channels) {
    const Reading& reading = state.values.channels[channel.at()].reading;
    if (!is_taken(mark.channels, channel.at()) && reading.quality != Quality::good)
      return rig.channels[channel.at()].name + ": " + std::string(entry_of(reading.cause).text);
  }
  for (const JackId jack : needed.loads) {
    const Reading load = load_of(jack, context_of(state, Take::as_read)).high;
    if (!is_taken(mark.loads, jack.at()) && load.quality != Quality::good)
      return "load " + rig.jacks[jack.at()].name + ": " + std::string(entry_of(load.cause).text);
  }
  return {};
}

std::optional<Refusal> missing_mark(const State& state, std::size_t stage, const Limit& limit) {
  const CountedFrom needed = counted_from(limit.of, state.job->rig);
  if (needed.empty()) return std::nullopt;
  const References& references = state.values.references;
  switch (limit.of.since) {
    case Since::baseline:
      if (state.job->plan.stages[stage].kind == StageKind::baseline || holds(references.baseline, needed)) return std::nullopt;
      return Refusal{"no-baseline", limit.name + " counts from a baseline that has not been taken"};
    case Since::lock_off:
      if (holds(references.lock_off, needed)) return std::nullopt;
      return Refusal{"no-mark", limit.name + " counts from a lock-off that has not been"};
    case Since::mark: {
      const Mark& mark = state.job->plan.marks[limit.of.mark];
      if (mark.taken_in.at() == stage || holds(references.marks[limit.of.mark], needed)) return std::nullopt;
      return Refusal{"no-mark", limit.name + " counts from mark '" + mark.name + "', which has not been taken"};
    }
    case Since::stage_start: {
      const std::string what = untakable(state, references.stage_starts[stage], needed);
      if (what.empty()) return std::nullopt;
      return Refusal{"no-mark", limit.name + " counts from the start of the stage, which cannot be taken now: " + what};
    }
  }
  return Refusal{"no-mark", limit.name};
}

bool is_being_taken(const State& state, const QuantityRef& of) {
  if (of.since == Since::baseline) return state.baseline_taking.has_value();
  return of.since == Since::mark && state.marks_taking[of.mark].has_value();
}

}  // namespace

CountedFrom counted_from(const QuantityRef& of, const Rig& rig) {
  CountedFrom needed;
  if (!takes_mark(of)) return needed;
  if (of.kind == QuantityKind::load_lost) {
    needed.loads.push_back(JackId{of.subjects[0]});
    return needed;
  }
  if (of.kind == QuantityKind::predicted_departure) {
    needed.channels.push_back(*rig.jacks[of.subjects[0]].stroke_channel);  // The loader refuses it without one.
    return needed;
  }
  needed.channels = channels_of(of, rig);
  return needed;
}

const MarkValues* mark_of(const QuantityRef& of, const State& state) {
  const auto stage = state.run.any ? std::optional{StageId{state.run.stage}} : std::nullopt;
  return marks_of(of.since, of.mark, state.values.references, stage);
}

bool holds(const MarkValues& mark, const CountedFrom& needed) {
  return std::all_of(needed.channels.begin(), needed.channels.end(),
                     [&](ChannelId channel) { return is_taken(mark.channels, channel.at()); }) &&
         std::all_of(needed.loads.begin(), needed.loads.end(), [&](JackId jack) { return is_taken(mark.loads, jack.at()); });
}

MarksNeeded marks_needed(const Job& job) {
  MarksNeeded needed{.baseline = needed_of(job, Since::baseline, 0), .marks = {}};
  for (std::size_t mark = 0; mark < job.plan.marks.size(); ++mark) needed.marks.push_back(needed_of(job, Since::mark, mark));
  return needed;
}

bool has_baseline(const State& state) { return holds(state.values.references.baseline, state.marks_needed.baseline); }

std::optional<Refusal> missing_mark(const State& state, std::size_t stage) {
  for (const Limit& limit : state.job->plan.stages[stage].limits)
    if (auto missing = missing_mark(state, stage, limit)) return missing;
  return std::nullopt;
}

bool counts_from_nothing(const State& state, const LimitInForce& limit) {
  if (limit.counted_from.empty() || is_being_taken(state, limit.limit.of)) return false;
  const MarkValues* mark = mark_of(limit.limit.of, state);
  return !mark || !holds(*mark, limit.counted_from);
}

}  // namespace standfast
