#include "daemon/core/limits_in_force.hpp"

#include <algorithm>

#include "config/depends.hpp"
#include "daemon/core/bound.hpp"
#include "daemon/core/marks.hpp"
#include "daemon/core/quantity/evaluate.hpp"
#include "daemon/core/stage_run.hpp"

namespace standfast {
namespace {

constexpr Duration guard_persist = milliseconds(500);
constexpr Duration fall_persist = seconds(1);

QuantityRef of_jack(QuantityKind kind, std::size_t jack) {
  return {.kind = kind, .subjects = {static_cast<std::uint16_t>(jack)}, .dimension = {*entry_of(kind).base, Per::none}};
}

Limit rating_guard(const Rig& rig, std::size_t jack) {
  Limit limit{.name = "rating " + rig.jacks[jack].name, .of = of_jack(QuantityKind::load, jack), .reset_by = Role::engineer};
  limit.stop = LevelBound{.above = Bound{.terms = {{1.0, Reference::rated}}}, .persist = guard_persist};
  return limit;
}

Limit stroke_guard(const Rig& rig, std::size_t jack) {
  Limit limit{.name = "stroke " + rig.jacks[jack].name, .of = of_jack(QuantityKind::travel_left, jack), .reset_by = Role::engineer};
  limit.stop = LevelBound{.below = Bound{}, .persist = guard_persist};
  return limit;
}

// Whether the load of a step is kept by the oil in the jacks. On nuts and packing a pressure says nothing about it.
bool is_held_by_oil(StageKind kind) {
  switch (kind) {
    case StageKind::snug: case StageKind::raise: case StageKind::equalise: case StageKind::lift_off_check: return true;
    case StageKind::commission: case StageKind::baseline: case StageKind::rezero_travel: case StageKind::lock_off:
    case StageKind::pressure_down: case StageKind::watch: case StageKind::cut: case StageKind::after_removal:
    case StageKind::transfer_back: return false;
  }
  return false;
}

// A load that was reached and goes again by itself leaks, or loses what is under it: below its band REVIEW, for then it is to
// be topped up; as far again below that, HOLD.
Limit fall_guard(const Rig& rig, const JackTarget& target, Ratio within) {
  const auto less = [&](double bands) { return Bound{.terms = {{1.0 - bands * within.si(), Reference::target}}}; };
  Limit limit{.name = "load fallen " + rig.jacks[target.jack.at()].name, .of = of_jack(QuantityKind::load, target.jack.at())};
  limit.review = LevelBound{.below = less(1), .persist = out_of_band_allowed};
  limit.hold = LevelBound{.below = less(2), .persist = fall_persist};
  return limit;
}

// Until the step now due is reached, what counts is the load of the step before: somebody may wait a night between them.
Limit kept_guard(const Rig& rig, const Step& before, const JackTarget& target) {
  const auto less = [&](double bands) { return Bound{.constant = (1.0 - bands * before.within.si()) * target.load.si()}; };
  Limit limit = fall_guard(rig, target, before.within);
  limit.name += " from " + before.name;
  limit.review->below = less(1);
  limit.hold->below = less(2);
  return limit;
}

// A jack that is to be let down goes below what it had.
bool is_let_down(const Step& step, const JackTarget& had) {
  return std::none_of(step.targets.begin(), step.targets.end(),
                      [&](const JackTarget& due) { return due.jack == had.jack && !(due.load < had.load); });
}

LimitInForce with_channels(Limit limit, bool guard, const Rig& rig) {
  std::vector<ChannelId> channels = channels_of(limit.of, rig), gate_channels;
  if (limit.when) gate_channels = channels_of(limit.when->of, rig);
  const bool median = has_median(limit.of, rig);
  CountedFrom needs = counted_from(limit.of, rig);
  return {.limit = std::move(limit), .guard = guard, .has_median = median, .channels = std::move(channels),
          .gate_channels = std::move(gate_channels), .counted_from = std::move(needs)};
}

Level highest_level(const Limit& limit) {
  if (limit.stop) return Level::stop;
  return limit.hold ? Level::hold : Level::review;
}

void need(std::vector<Level>& needed, const std::vector<ChannelId>& channels, Level level) {
  for (const ChannelId channel : channels) needed[channel.at()] = std::max(needed[channel.at()], level);
}

// What the stage's criteria rest on is needed as much as what a HOLD rests on; its targets rest on loads, which the guards of
// the rating need at STOP.
void need_for_progress(std::vector<Level>& needed, const Rig& rig, const Stage& stage) {
  for (const Criterion& criterion : stage.proceed_when)
    if (criterion.kind == Criterion::Kind::quantity) need(needed, channels_of(criterion.of, rig), Level::hold);
}

LevelInForce worked_out(const Gate& gate, const Rig& rig, const Plan& plan, const Step* step) {
  LevelInForce level;
  if (gate.above) level.above = worked_out(*gate.above, gate.of, rig, plan, step);
  if (gate.below) level.below = worked_out(*gate.below, gate.of, rig, plan, step);
  return level;
}

}  // namespace

const std::optional<LevelBound>& level_bound(const Limit& limit, Level level) {
  switch (level) {
    case Level::none: case Level::review: return limit.review;
    case Level::hold: return limit.hold;
    case Level::stop: return limit.stop;
  }
  return limit.stop;
}

void work_out(LimitsInForce& limits, const Rig& rig, const Plan& plan, const Step* step) {
  for (LimitInForce& each : limits.limits) {
    if (each.limit.when) each.gate = worked_out(*each.limit.when, rig, plan, step);
    for (std::size_t k = 0; k < limit_levels.size(); ++k) {
      const auto& bound = level_bound(each.limit, limit_levels[k]);
      each.levels[k].reset();
      if (!bound) continue;
      LevelInForce level{.deadband = each.limit.deadband, .persist = bound->persist, .clear_after = each.limit.clear_after,
                         .guard_uncertainty = each.limit.guard_uncertainty};
      if (bound->above) level.above = worked_out(*bound->above, each.limit.of, rig, plan, step);
      if (bound->below) level.below = worked_out(*bound->below, each.limit.of, rig, plan, step);
      if (level.above || level.below) each.levels[k] = level;
    }
  }
}

const Step* step_before(const Plan& plan, std::size_t stage, std::size_t step, std::span<const StageState> states) {
  if (step > 0) return &plan.stages[stage].steps[step - 1];
  while (stage-- > 0) {
    if (!is_held_by_oil(plan.stages[stage].kind)) return nullptr;
    if (states[stage] == StageState::closed && !plan.stages[stage].steps.empty()) return &plan.stages[stage].steps.back();
  }
  return nullptr;
}

LimitsInForce limits_in_force(const Rig& rig, const Plan& plan, const Stage* stage, const Step* step, const Step* before) {
  LimitsInForce result;
  for (std::size_t jack = 0; jack < rig.jacks.size(); ++jack) {
    result.limits.push_back(with_channels(rating_guard(rig, jack), true, rig));
    if (rig.jacks[jack].stroke_channel) result.limits.push_back(with_channels(stroke_guard(rig, jack), true, rig));
  }
  if (stage && step && is_held_by_oil(stage->kind))
    for (const JackTarget& target : step->targets) {
      result.limits.push_back(with_channels(fall_guard(rig, target, step->within), true, rig));
      result.limits.back().in_force = InForce::once_reached;
    }
  if (before && stage && step && is_held_by_oil(stage->kind))
    for (const JackTarget& had : before->targets) {
      if (is_let_down(*step, had)) continue;
      result.limits.push_back(with_channels(kept_guard(rig, *before, had), true, rig));
      result.limits.back().in_force = InForce::until_reached;
    }
  if (stage)
    for (const Limit& limit : stage->limits) result.limits.push_back(with_channels(limit, false, rig));

  result.needed.assign(rig.channels.size(), Level::none);
  for (const LimitInForce& each : result.limits) {
    need(result.needed, each.channels, highest_level(each.limit));
    need(result.needed, each.gate_channels, highest_level(each.limit));
  }
  if (stage) need_for_progress(result.needed, rig, *stage);
  work_out(result, rig, plan, step);
  return result;
}

std::vector<LimitMemory> carried_over(const LimitsInForce& limits, const LimitsInForce& before, std::vector<LimitMemory>&& old,
                                      Instant now) {
  std::vector<LimitMemory> memory;
  memory.reserve(limits.limits.size());
  const auto goes_on = [&](std::size_t place, const Limit& limit) {
    if (old[place].name != limit.name) return false;
    return place >= before.limits.size() || before.limits[place].limit.of == limit.of;
  };
  for (const LimitInForce& each : limits.limits) {
    LimitMemory& added = memory.emplace_back();
    for (Watch& watch : added.watches) watch.at = now;
    for (std::size_t place = 0; place < old.size(); ++place)
      if (goes_on(place, each.limit)) added = std::move(old[place]);
    added.name = each.limit.name;
    if (!each.limit.when && each.in_force == InForce::always) added.gated_off = false;  // Where it had a gate before, it has none now.
  }
  return memory;
}

}  // namespace standfast
