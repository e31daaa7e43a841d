#include "daemon/core/criteria.hpp"

#include <algorithm>
#include <charconv>
#include <span>

#include "config/ensure.hpp"
#include "config/unit_text.hpp"
#include "daemon/core/bound.hpp"
#include "daemon/core/by_hand.hpp"
#include "daemon/core/marks.hpp"

namespace standfast {
namespace {

// A doubt serves a trip and no progress, unless the engineer has accepted it: with the channel that has it, or where it lies
// between channels with a limit on the load.
bool is_trusted(const State& state, JackId id, const Reading& load) {
  if (load.quality != Quality::uncertain) return load.quality == Quality::good;
  const Jack& jack = state.job->rig.jacks[id.at()];
  const auto accepted_of = [&](ChannelId channel) { return is_accepted(state, state.job->rig.channels[channel.at()].name, load.cause); };
  if (accepted_of(jack.advance) || (jack.retract && accepted_of(*jack.retract))) return true;
  return std::any_of(state.in_force.limits.begin(), state.in_force.limits.end(), [&](const LimitInForce& each) {
    const QuantityRef& of = each.limit.of;
    return of.kind == QuantityKind::load && !of.rate && of.subjects[0] == id.at() && is_accepted(state, each.limit.name, load.cause);
  });
}

bool in_band(const JackTarget& target, Ratio within, const Judged& load) {
  const double half = within.si() * target.load.si();
  const LevelInForce band{.above = amount(target.load + Force::from_si(half)), .below = amount(target.load - Force::from_si(half))};
  return !is_beyond(band, load, 0);
}

// Behind a number, with its space; nothing for a plain ratio.

// At the resolution at which it is compared. By a power of ten, which is exact: a product with the step would not be.
double as_compared(const Amount& value) {
  double per_unit = 1;
  for (double step = grid_step(value.dimension); step < 0.5; step *= 10) per_unit *= 10;
  const std::int64_t steps = on_grid(value);
  return steps == INT64_MAX || steps == -INT64_MAX ? value.si : static_cast<double>(steps) / per_unit;
}

bool quantity_met(const State& state, const Criterion& criterion, const Judged& value) {
  if (value.high.quality != Quality::good || value.low.quality != Quality::good) return false;
  LevelInForce level;
  const Step* step = step_in_force(state);
  if (criterion.above) level.above = worked_out(*criterion.above, criterion.of, state.job->rig, state.job->plan, step);
  if (criterion.below) level.below = worked_out(*criterion.below, criterion.of, state.job->rig, state.job->plan, step);
  if ((criterion.above && !level.above) || (criterion.below && !level.below)) return false;
  return !is_beyond(level, value, 0);
}

bool entered(const State& state, const std::string& subject) {
  return std::find(state.run.entered.begin(), state.run.entered.end(), subject) != state.run.entered.end();
}

bool sets_complete(const State& state, const Step* step) {
  return !step || static_cast<std::size_t>(state.run.reading_sets) >= step->read_at.size();
}

// Which proofs a stage of this kind asks for. A sounder that was not heard is a HOLD of its own.
std::span<const Proof> proofs_of(StageKind kind) {
  static constexpr Proof of_commission[] = {Proof::heartbeat};
  static constexpr Proof of_others[] = {Proof::drop_by_command, Proof::drop_by_heartbeat, Proof::drop_by_cable};
  return kind == StageKind::commission ? std::span<const Proof>(of_commission) : std::span<const Proof>(of_others);
}

bool proofs_given(const State& state, StageKind kind) {
  const auto proofs = proofs_of(kind);
  return std::all_of(proofs.begin(), proofs.end(), [&](Proof proof) { return state.proofs.has(proof); });
}

std::string proofs_text(const State& state, StageKind kind) {
  std::string text;
  for (const Proof proof : proofs_of(kind))
    text += (text.empty() ? "" : ", ") + std::string(proof_name(proof)) + (state.proofs.has(proof) ? " passed" : " not passed");
  return text;
}

// With every event it is asked whether all is met, and only now and then what there is to say. So a criterion is shown to
// `see(name, met, facts)`, whose facts are put into words if somebody calls them.
constexpr auto no_facts = [] { return std::string(); };

template <class See>
void see_criterion(const State& state, const Criterion& criterion, const Stage& stage, const Step* step, See see) {
  switch (criterion.kind) {
    case Criterion::Kind::quantity: {
      const Judged value = evaluate(criterion.of, context_of(state, Take::steadied));
      return see(criterion.name, quantity_met(state, criterion, value), [&] {
        const std::string high = value_text(value.high);
        return value.low.value.si == value.high.value.si ? high : high + " to " + value_text(value.low);
      });
    }
    case Criterion::Kind::entered: return see(criterion.name, entered(state, criterion.entered), no_facts);
    case Criterion::Kind::reading_sets: return see(criterion.name, sets_complete(state, step), no_facts);
    case Criterion::Kind::proofs:
      return see(criterion.name, proofs_given(state, stage.kind), [&] { return proofs_text(state, stage.kind); });
  }
  see(criterion.name, false, no_facts);
}

template <class See>
void see_of_kind(const State& state, const Stage& stage, const Step* step, See see) {
  if (step) {
    see("observation period over", observation_over(state.run, *step), [&] {
      return std::to_string(state.run.observed.ns / 1'000'000'000) + " of " + std::to_string(step->observe.ns / 1'000'000'000) + " s";
    });
    if (!step->read_at.empty()) see("reading sets taken", sets_complete(state, step), no_facts);
  }
  // Commissioning ends, and the snug load is left, only when the outputs have been proved, whether the plan says so or not.
  const bool proves = stage.kind == StageKind::commission || stage.kind == StageKind::snug;
  const bool stated = std::any_of(stage.proceed_when.begin(), stage.proceed_when.end(),
                                  [](const Criterion& c) { return c.kind == Criterion::Kind::proofs; });
  const auto of_proofs = [&] { return proofs_text(state, stage.kind); };
  if (proves && !stated) see("proofs of the outputs passed", proofs_given(state, stage.kind), of_proofs);
  if (stage.kind == StageKind::baseline) see("baseline taken", has_baseline(state), [&] { return awaited_by_baseline(state); });
}

template <class See>
void see_criteria(const State& state, See see) {
  const Stage* stage = stage_in_force(state);
  if (!stage) return;
  const Step* step = due_step(state.run, state.job->plan);
  see("signal below HOLD", state.signal < Level::hold, no_facts);
  see_of_kind(state, *stage, step, see);
  for (const Criterion& criterion : stage->proceed_when) {
    if (see.has_seen_enough()) return;
    see_criterion(state, criterion, *stage, step, see);
  }
}

struct Collects {
  std::vector<CriterionSeen>& criteria;

  static bool has_seen_enough() { return false; }
  template <class Facts>
  void operator()(std::string_view name, bool met, const Facts& facts) const {
    criteria.push_back({std::string(name), met, facts()});
  }
};

// One that is not met is enough: the others need not be evaluated.
struct AsksForAll {
  bool& all;

  bool has_seen_enough() const { return !all; }
  template <class Facts>
  void operator()(std::string_view, bool met, const Facts&) const { all = all && met; }
};

}  // namespace

std::string value_text(const Reading& reading) {
  if (reading.quality == Quality::bad) return std::string(entry_of(reading.cause).code);
  if (reading.value.si - reading.value.si != 0) return "no number";
  const std::string_view unit = default_unit(reading.value.dimension);
  const auto number = in_unit({reading.value.dimension, as_compared(reading.value)}, unit);
  ENSURE(number.has_value());
  char digits[32];
  const auto end = std::to_chars(digits, digits + sizeof digits, *number).ptr;
  std::string text(digits, end);
  if (!unit.empty()) text += ' ' + std::string(unit);
  if (reading.quality == Quality::uncertain) text += " (" + std::string(entry_of(reading.cause).code) + ")";
  return text;
}

bool all_in_band(const State& state, const Step& step) {
  const ValueContext context = context_of(state, Take::steadied);
  return std::all_of(step.targets.begin(), step.targets.end(), [&](const JackTarget& target) {
    const Judged load = load_of(target.jack, context);
    return is_trusted(state, target.jack, load.high) && in_band(target, step.within, load);
  });
}

std::vector<CriterionSeen> criteria_of(const State& state) {
  std::vector<CriterionSeen> criteria;
  see_criteria(state, Collects{criteria});
  return criteria;
}

bool criteria_met(const State& state) {
  bool all = true;
  see_criteria(state, AsksForAll{all});
  return all;
}

std::string facts_text(const std::vector<CriterionSeen>& criteria) {
  std::string text;
  for (const CriterionSeen& each : criteria) {
    if (!text.empty()) text += "; ";
    text += each.name + ": " + (each.met ? "met" : "not met");
    if (!each.facts.empty()) text += " (" + each.facts + ")";
  }
  return text;
}

}  // namespace standfast
