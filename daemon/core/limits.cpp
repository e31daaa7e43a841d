#include "daemon/core/limits.hpp"

#include <algorithm>
#include <utility>

#include "daemon/core/bound.hpp"
#include "daemon/core/marks.hpp"
#include "daemon/core/say.hpp"

namespace standfast {
namespace {

bool any_fresh(const std::vector<ChannelId>& channels, const Fresh& fresh) {
  return std::any_of(channels.begin(), channels.end(), [&](ChannelId channel) { return fresh[channel.at()]; });
}

// A gate that cannot be trusted is open: the limit is in force.
bool gate_open(const State& state, const LimitInForce& each) {
  const Judged value = evaluate(each.limit.when->of, context_of(state, Take::steadied));
  if (value.high.quality != Quality::good || value.low.quality != Quality::good) return true;
  if (!each.gate.above && !each.gate.below) return true;
  return is_beyond(each.gate, value, 0);
}

bool counts_now(InForce in_force, bool was_reached) {
  switch (in_force) {
    case InForce::always: return true;
    case InForce::once_reached: return was_reached;
    case InForce::until_reached: return !was_reached;
  }
  return true;
}

// What has filled drains as if the value were within: a gate that flickers must not hide what stands beyond between.
void close_gate(const LimitInForce& each, LimitMemory& memory, Instant now) {
  memory.gated_off = true;
  for (std::size_t k = 0; k < limit_levels.size(); ++k)
    if (each.levels[k]) memory.watches[k] = out_of_force(passed(*each.levels[k], memory.watches[k], now));
}

// A spike stays the newest reading of its channel until that is read again, and every other part of the quantity that is
// read meanwhile shows the limit the same spike once more. So what was read no later than the first reading beyond is set
// one reading back: only if the value is beyond then too does it rest on something else. Once every part has been read
// again nothing is set back, so a true violation is told by one poll of the slowest part at the latest. A slope rests on
// its window: each new sample is a new reading.
Evidence evidence_of(const State& state, const LimitInForce& each, std::size_t k, const Watch& watch) {
  if (watch.beyond_readings != 1) return Evidence::fresh;
  const auto is_read_since = [&](ChannelId channel) {
    return state.values.channels[channel.at()].reading.newest > watch.first_beyond;
  };
  if (std::none_of(each.channels.begin(), each.channels.end(), is_read_since)) return Evidence::repeated;
  ValueContext context = context_of(state, limit_levels[k] == Level::stop ? Take::as_read : Take::steadied);
  context.apart_from = watch.first_beyond;
  return is_beyond(*each.levels[k], evaluate(each.limit.of, context), 0) ? Evidence::fresh : Evidence::repeated;
}

// An entry is two readings by itself. What is read over a bus and stands behind the same quantity must have been beyond one
// reading earlier, too: else a spike would trip because somebody entered something meanwhile.
bool is_beyond_twice(const State& state, const LimitInForce& each, std::size_t k, const Judged& value) {
  if (!is_beyond(*each.levels[k], value, 0)) return false;
  ValueContext context = context_of(state, limit_levels[k] == Level::stop ? Take::as_read : Take::steadied);
  context.apart_from = state.now;
  return is_beyond(*each.levels[k], evaluate(each.limit.of, context), 0);
}

// Does it rest on what a person entered, now or, where only now it counts, at any time?
bool rests_on_entry(const State& state, const LimitInForce& each, const Fresh& fresh, bool has_opened) {
  return std::any_of(each.channels.begin(), each.channels.end(), [&](ChannelId channel) {
    return !state.job->rig.channels[channel.at()].bus && (has_opened || fresh[channel.at()]);
  });
}

bool counts(const State& state, const LimitInForce& each) {
  return counts_now(each.in_force, state.run.was_reached) && (!each.limit.when || gate_open(state, each));
}

void observe(State& state, const LimitInForce& each, LimitMemory& memory, const Fresh& fresh) {
  memory.last = evaluate(each.limit.of, context_of(state, Take::as_read));
  if (!counts(state, each)) return close_gate(each, memory, state.now);
  Instant newest{};
  for (const ChannelId channel : each.channels) newest = std::max(newest, state.values.channels[channel.at()].reading.newest);
  const bool has_opened = std::exchange(memory.gated_off, false);
  if (!has_opened && !any_fresh(each.channels, fresh)) return;  // The gate was read, and nothing else is new.
  const bool by_hand = rests_on_entry(state, each, fresh, has_opened);
  const Judged steadied = each.has_median ? evaluate(each.limit.of, context_of(state, Take::steadied)) : memory.last;
  for (std::size_t k = 0; k < limit_levels.size(); ++k) {
    if (!each.levels[k]) continue;
    const Judged& value = limit_levels[k] == Level::stop ? memory.last : steadied;
    const Watch accounted = passed(*each.levels[k], memory.watches[k], state.now);
    if (by_hand && is_beyond_twice(state, each, k, value)) {
      memory.watches[k] = tripped_by_entry(*each.levels[k], accounted, newest);
      continue;
    }
    memory.watches[k] = observed(*each.levels[k], accounted, value, state.now, {evidence_of(state, each, k, accounted), newest});
  }
}

// Which side is beyond, for the row and the screen.
void put_numbers(const LevelInForce& level, const Judged& last, Condition& condition) {
  const bool above = level.above && is_beyond({.above = level.above}, last, 0);
  const Reading& side = above || !level.below ? last.high : last.low;
  // What is off its scale stands beyond every bound, and nobody knows how far: the end of the scale is no value.
  const bool off_scale = last.high.saturated != Saturation::none || last.low.saturated != Saturation::none;
  if (side.quality != Quality::bad && !off_scale) condition.value = side.value;
  condition.bound = above || !level.below ? level.above : level.below;
}

bool is_movement(QuantityKind kind) {
  return kind == QuantityKind::movement || kind == QuantityKind::differential || kind == QuantityKind::tilt ||
         kind == QuantityKind::warp;
}

// A bound on a load that allows all the column is thought to weigh at most, or all that the jack may bear: by its number,
// however the plan says it.
bool is_at_the_utmost(const State& state, const QuantityRef& of, const LevelInForce& level) {
  if (!level.above || of.dimension != Dimension{Base::force, Per::none}) return false;
  if (!exceeds(amount(state.job->plan.column_high), *level.above)) return true;
  return of.kind == QuantityKind::load && !exceeds(amount(state.job->rig.jacks[of.subjects[0]].rated), *level.above);
}

// Movement of the structure since the baseline, loads above the high estimate and the rating are the engineer's.
bool is_the_engineers(const State& state, const LimitInForce& each) {
  const Limit& limit = each.limit;
  if (limit.reset_by && *limit.reset_by == Role::engineer) return true;
  if (is_movement(limit.of.kind) && limit.of.since == Since::baseline && !limit.of.rate) return true;
  for (const auto& bound : {limit.hold, limit.stop})
    if (bound && bound->above)
      for (const Term& term : bound->above->terms)
        if (term.reference == Reference::column_high || term.reference == Reference::rated) return true;
  return std::any_of(each.levels.begin(), each.levels.end(),
                     [&](const auto& level) { return level && is_at_the_utmost(state, limit.of, *level); });
}

std::optional<StageKind> kind_in_force(const State& state) {
  const Stage* stage = stage_in_force(state);
  return stage ? std::optional{stage->kind} : std::nullopt;
}

std::string say_of(const State& state, const Limit& limit, Level level) {
  if (!limit.say.empty()) return limit.say;
  const Stage* stage = stage_in_force(state);
  if (stage && level == Level::hold && !stage->say_hold.empty()) return stage->say_hold;
  if (stage && level == Level::stop && !stage->say_stop.empty()) return stage->say_stop;
  if (limit.of.kind == QuantityKind::supply && level == Level::hold) return std::string(line_for_supply);
  return std::string(line_for_limit(kind_in_force(state), level));
}

std::optional<Instant> trips_at(const State& state, std::size_t limit, std::size_t k) {
  const auto& level = state.in_force.limits[limit].levels[k];
  return level ? trips_at(*level, state.limits[limit].watches[k]) : std::nullopt;
}

void add_conditions_of(const State& state, std::size_t i, std::vector<Condition>& conditions) {
  const Limit& limit = state.in_force.limits[i].limit;
  if (!state.limits[i].gated_off && counts_from_nothing(state, state.in_force.limits[i]))
    conditions.push_back({.subject = "mark of " + limit.name, .cause = Cause::mark_missing, .level = Level::hold});
  for (std::size_t k = 0; k < limit_levels.size(); ++k) {
    if (!state.limits[i].watches[k].active) continue;
    const auto& level = state.in_force.limits[i].levels[k];
    if (!level) continue;
    Condition condition{.subject = limit.name, .cause = Cause::limit, .level = limit_levels[k],
                        .say = say_of(state, limit, limit_levels[k]),
                        .reset_by_engineer = is_the_engineers(state, state.in_force.limits[i])};
    put_numbers(*level, state.limits[i].last, condition);
    conditions.push_back(std::move(condition));
  }
}

}  // namespace

void observe_limits(State& state, const Fresh& fresh) {
  PlaceSet& touched = state.attention.touched;
  touched.begin_anew(state.limits.size());
  fresh.for_each([&](std::size_t channel) {
    for (const std::size_t limit : state.attention.limits_behind[channel]) touched.put(limit);
  });
  touched.for_each([&](std::size_t i) {
    observe(state, state.in_force.limits[i], state.limits[i], fresh);
    note_watches(state, i);
  });
}

void pass_limits(State& state) {
  state.attention.filling.for_each([&](std::size_t i) {
    for (std::size_t k = 0; k < limit_levels.size(); ++k)
      if (const auto at = trips_at(state, i, k); at && *at <= state.now)
        state.limits[i].watches[k] = passed(*state.in_force.limits[i].levels[k], state.limits[i].watches[k], state.now);
    note_watches(state, i);
  });
}

std::optional<Instant> next_trip(const State& state) {
  std::optional<Instant> next;
  state.attention.filling.for_each([&](std::size_t i) {
    for (std::size_t k = 0; k < limit_levels.size(); ++k)
      if (const auto at = trips_at(state, i, k); at && (!next || *at < *next)) next = at;
  });
  return next;
}

void add_limit_conditions(const State& state, std::vector<Condition>& conditions) {
  const Attention& attention = state.attention;
  for_each_in_either(attention.counted_from_a_mark, attention.active, [&](std::size_t i) { add_conditions_of(state, i, conditions); });
}

void judge_by_hand(State& state) {
  if (!state.job) return;
  Fresh entered{state.values.channels.size()};
  for (std::size_t c = 0; c < entered.places(); ++c) entered.put(c, !state.job->rig.channels[c].bus);
  observe_limits(state, entered);
}

void look_at_limits(State& state) {
  for (std::size_t i = 0; i < state.limits.size(); ++i) {
    const LimitInForce& each = state.in_force.limits[i];
    LimitMemory& memory = state.limits[i];
    if (memory.last.high.quality == Quality::bad) memory.last = evaluate(each.limit.of, context_of(state, Take::as_read));
    if (!counts(state, each)) close_gate(each, memory, state.now);
    else memory.gated_off = false;
  }
}

void renew_limits(State& state) {
  if (!state.job) {
    state.in_force = {};
    state.limits.clear();
    return renew_attention(state);
  }
  const LimitsInForce before = std::move(state.in_force);
  const Plan& plan = state.job->plan;
  const Step* step = step_in_force(state);
  const Step* had = step ? step_before(plan, state.run.stage, state.run.step, state.run.states) : nullptr;
  state.in_force = limits_in_force(state.job->rig, plan, stage_in_force(state), step, had);
  state.limits = carried_over(state.in_force, before, std::move(state.limits), state.now);
  renew_attention(state);
}

}  // namespace standfast
