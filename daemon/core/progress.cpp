#include "daemon/core/progress.hpp"

#include <algorithm>

#include "daemon/core/criteria.hpp"
#include "daemon/core/marks.hpp"
#include "daemon/core/reading_set.hpp"
#include "daemon/core/summary.hpp"

namespace standfast {
namespace {

std::string step_name(const State& state) {
  const Step* step = step_in_force(state);
  return step ? step->name : std::string();
}

bool targets_fresh(const State& state, const Step& step, const Fresh& fresh) {
  return std::any_of(step.targets.begin(), step.targets.end(), [&](const JackTarget& target) {
    const Jack& jack = state.job->rig.jacks[target.jack.at()];
    return fresh[jack.advance.at()] || (jack.retract && fresh[jack.retract->at()]);
  });
}

// A step with a target: has it been reached, has the load left its band, which reading sets are due?
void settle_step(State& state, const Step& step, const Fresh& fresh, std::vector<EffectRow>& rows) {
  StageRun& run = state.run;
  const StageState now_in = state_of(run);
  if (now_in == StageState::approved) return;
  pass_time(run, state.now);
  if (targets_fresh(state, step, fresh)) see_band(run, all_in_band(state, step), state.now);
  if (run.reached_at && now_in == StageState::running) happen(state, StageHappening::reached, {}, {}, {}, rows);
  if (run.out_since && state.now - *run.out_since >= out_of_band_allowed) {
    begin_observation_anew(run, state.now);
    state.set_taking.reset();
    return happen(state, StageHappening::left, {}, {}, "a load has left the band, or is in doubt", rows);
  }
  settle_reading_sets(state, step, rows);
}

void settle_gate(State& state, const Step* step, std::vector<EffectRow>& rows) {
  const StageState now_in = state_of(state.run);
  const bool before = now_in == StageState::observation || (now_in == StageState::running && !step);
  const bool after_gate = now_in == StageState::criteria_met || now_in == StageState::awaiting_approval;
  if (!before && !after_gate) return;
  const bool met = criteria_met(state);
  if (before && met) return happen(state, StageHappening::met, {}, {}, facts_text(criteria_of(state)), rows);
  if (!after_gate || met) return;
  const std::string facts = facts_text(criteria_of(state));
  state.run.approvals.clear();
  happen(state, step ? StageHappening::lost : StageHappening::left, {}, {}, facts, rows);
}

void write_mark(State& state, const std::string& mark, const MarkValues& values, std::vector<EffectRow>& rows) {
  const Rig& rig = state.job->rig;
  for (std::size_t c = 0; c < values.channels.size(); ++c)
    if (const auto& value = values.channels[c])
      rows.emplace_back(MarkTaken{mark, rig.channels[c].name, {rig.channels[c].dimension, value->value}, value->standard_error,
                                  static_cast<int>(value->readings)});
}

using MarkList = std::vector<std::optional<MarkValue>>;

// What a mark holds it keeps: a gauge swapped on the way must not take the movement of all others back to nothing. Leaves
// in `more` what was added.
void complete(MarkList& kept, MarkList& more) {
  kept.resize(more.size());
  for (std::size_t i = 0; i < more.size(); ++i) {
    if (kept[i]) more[i].reset();
    else kept[i] = more[i];
  }
}

MarkValues completed(MarkValues& mark, MarkValues more) {
  complete(mark.channels, more.channels);
  complete(mark.loads, more.loads);
  return more;
}

void settle_marks(State& state, std::vector<EffectRow>& rows) {
  References& references = state.values.references;
  if (state.baseline_taking && mark_full(*state.baseline_taking, state.marks_needed.baseline, state.now)) {
    write_mark(state, "baseline", completed(references.baseline, mark_values(*state.baseline_taking, state.now)), rows);
    state.baseline_taking.reset();
    ++state.picture;
  }
  for (std::size_t m = 0; m < state.marks_taking.size(); ++m) {
    auto& taking = state.marks_taking[m];
    if (!taking || !mark_full(*taking, state.marks_needed.marks[m], state.now)) continue;
    write_mark(state, state.job->plan.marks[m].name, completed(references.marks[m], mark_values(*taking, state.now)), rows);
    taking.reset();
  }
}

void start_marks(State& state, std::size_t stage) {
  const Job& job = *state.job;
  if (job.plan.stages[stage].kind == StageKind::baseline && !has_baseline(state))
    state.baseline_taking = start_mark(job, state.now, job.plan.stages[stage].window);
  for (std::size_t m = 0; m < job.plan.marks.size(); ++m) {
    const bool taken = holds(state.values.references.marks[m], state.marks_needed.marks[m]);
    if (job.plan.marks[m].taken_in.at() == stage && !taken)
      state.marks_taking[m] = start_mark(job, state.now, job.plan.marks[m].window);
  }
}

bool changes_stage(StageHappening happening) {
  switch (happening) {
    case StageHappening::entered: case StageHappening::next_step: case StageHappening::last_step_done:
    case StageHappening::abandoned: case StageHappening::skipped:
      return true;
    case StageHappening::reached: case StageHappening::left: case StageHappening::met: case StageHappening::lost:
    case StageHappening::proposed: case StageHappening::approved:
      return false;
  }
  return true;
}

}  // namespace

void happen(State& state, StageHappening happening, const PersonClaim& by, const PersonClaim& second,
            const std::string& facts, std::vector<EffectRow>& rows) {
  StageState& now_in = state.run.states[state.run.stage];
  const StageState from = now_in;
  now_in = after(from, happening);
  if (now_in == from) return;
  ++state.picture;
  rows.emplace_back(StageChange{state.job->plan.stages[state.run.stage].name, step_name(state), from, now_in, by.name, second.name, facts});
  if (changes_stage(happening)) ask_for_snapshot(Cause::stage_changed, rows);
}

void settle_stage(State& state, const Fresh& fresh, std::vector<EffectRow>& rows) {
  settle_marks(state, rows);
  if (!live_stage(state.run, state.job->plan)) return;
  const Step* step = due_step(state.run, state.job->plan);
  if (step) settle_step(state, *step, fresh, rows);
  settle_gate(state, step, rows);
}

void take_marks(State& state, const Scan& scan) {
  const ValueContext context = context_of(state, Take::as_read);
  if (state.baseline_taking) take_mark(*state.baseline_taking, scan, context);
  if (state.set_taking) take_mark(*state.set_taking, scan, context);
  for (auto& taking : state.marks_taking)
    if (taking) take_mark(*taking, scan, context);
}

void take_marks(State& state, ChannelId entered) {
  const Reading& reading = state.values.channels[entered.at()].reading;
  if (state.baseline_taking) state.baseline_taking->channels[entered.at()].add(reading);
  for (auto& taking : state.marks_taking)
    if (taking) taking->channels[entered.at()].add(reading);
}

void forget_what_is_being_taken(State& state) {
  state.baseline_taking.reset();
  state.set_taking.reset();
  for (auto& taking : state.marks_taking) taking.reset();
}

void enter_stage(State& state, std::size_t stage, const PersonClaim& by, std::vector<EffectRow>& rows) {
  StageRun& run = state.run;
  run.any = true;
  run.stage = static_cast<std::uint16_t>(stage);
  run.step = 0;
  run.entered_at = state.now;
  run.entered.clear();
  begin_step(run, state.now);
  state.accepted.clear();
  forget_what_is_being_taken(state);
  completed(state.values.references.stage_starts[stage], mark_of_now(context_of(state, Take::as_read)));
  set_polls(state.values.channels, *state.job, state.job->plan.stages[stage], state.now);
  start_marks(state, stage);
  renew_limits(state);
  look_at_limits(state);
  judge_by_hand(state);
  happen(state, StageHappening::entered, by, {}, {}, rows);
}

void resume_stage(State& state) {
  if (!state.run.any) return;
  set_polls(state.values.channels, *state.job, *stage_in_force(state), state.now);
  if (live_stage(state.run, state.job->plan)) start_marks(state, state.run.stage);
}

void go_on(State& state, const PersonClaim& by, std::vector<EffectRow>& rows) {
  happen(state, StageHappening::approved, by, {}, facts_text(criteria_of(state)), rows);
  const Stage& stage = *stage_in_force(state);
  if (state.run.step + 1u < stage.steps.size()) {
    ++state.run.step;
    begin_step(state.run, state.now);
    renew_limits(state);
    look_at_limits(state);
    judge_by_hand(state);
    return happen(state, StageHappening::next_step, {}, {}, {}, rows);
  }
  happen(state, StageHappening::last_step_done, {}, {}, {}, rows);
}

std::optional<Instant> next_of_stage(const State& state) {
  if (!state.job) return std::nullopt;
  const Step* step = due_step(state.run, state.job->plan);
  if (!step || state_of(state.run) == StageState::approved) return std::nullopt;
  const auto next = next_instant(state.run, *step), set = next_set_begins(state, *step);
  return next && set ? std::min(*next, *set) : next ? next : set;
}

}  // namespace standfast
