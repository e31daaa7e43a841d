#include "daemon/core/taking.hpp"

#include <algorithm>
#include <utility>

#include "daemon/core/acts.hpp"
#include "daemon/core/by_hand.hpp"
#include "daemon/core/doubt.hpp"
#include "daemon/core/inputs.hpp"
#include "daemon/core/marks.hpp"
#include "daemon/core/permits.hpp"
#include "daemon/core/progress.hpp"
#include "daemon/core/proofs.hpp"
#include "daemon/core/same_outputs.hpp"
#include "daemon/core/say.hpp"
#include "daemon/core/sounder_test.hpp"
#include "daemon/core/summary.hpp"
#include "daemon/core/swap_proof.hpp"

namespace standfast {
namespace {

using Rows = std::vector<EffectRow>;

void alarm_now(State& state, std::string subject, Cause cause, Level level) {
  state.momentary.push_back({.subject = std::move(subject), .cause = cause, .level = level,
                             .say = std::string(line_for_cause(cause, level))});
}

// As a bad reading does: what fills goes on filling, what drains stands, what was on its way back begins anew.
void stand_still(Watch& watch, Instant now) {
  watch.within_since.reset();
  if (watch.filling != Filling::draining) return;
  watch.filling = Filling::standing;
  watch.at = now;
}

// What was read before an outage is nothing to go by; every instrument is waited for as at the start of a job.
void forget_readings(State& state) {
  state.job_since = state.now;
  for (std::size_t c = 0; c < state.values.channels.size(); ++c) {
    if (!state.job->rig.channels[c].bus) continue;  // What a person entered keeps its age.
    forget_reading(state.values.channels[c], state.job->rig.channels[c].dimension, state.now);
  }
  state.polls = new_poll_book(*state.job);
  state.values.watches = new_unit_watches(*state.job);
  state.input_known.assign(state.input_known.size(), false);
  for (std::size_t i = 0; i < state.limits.size(); ++i) {
    state.limits[i].last = evaluate(state.in_force.limits[i].limit.of, context_of(state, Take::as_read));
    for (Watch& watch : state.limits[i].watches) stand_still(watch, state.now);
  }
}

constexpr std::size_t crashes_that_tell = 3;
constexpr Duration crashes_within = minutes(10);

// A daemon that is kept alive by being started again and again looks, between two crashes, like one that is well.
void count_crash(State& state) {
  if (std::exchange(state.ended_in_order, false)) return;
  std::erase_if(state.crashes, [&](Instant at) { return state.now - at > crashes_within; });
  if (state.crashes.size() == crashes_that_tell) state.crashes.erase(state.crashes.begin());
  state.crashes.push_back(state.now);
  if (state.crashes.size() >= crashes_that_tell) alarm_now(state, "restarting again and again", Cause::restarting, Level::hold);
}

void take_started(State& state, const Started& started, Rows& rows) {
  state.boot_id = started.boot_id;
  state.software = started.software;
  state.outputs = {};
  state.outputs.last_report = state.now;
  state.starting = true;
  if (state.job) forget_readings(state);
  state.record = RecordState::healthy;  // It has been opened; what is wrong with it follows as an event.
  state.run.observed_to = state.now;
  see_band(state.run, false, state.now);  // Nobody watched: until the next readings the observation period stands still.
  interrupt_proof(state, "interrupted by a restart", rows);
  interrupt_feelers(state, "interrupted by a restart", rows);
  state.sounder_test.since.reset();
  end_permit(state, Cause::start_up, {}, rows);
  alarm_now(state, started.first ? "start" : "restart", Cause::start_up, Level::hold);
  if (!started.first) count_crash(state);
  ask_for_snapshot(Cause::start_up, rows);
}

// What is remembered by the place of a jack or channel in a rig that is no longer in force.
void forget_places(State& state) {
  state.limits.clear();
  for (Alarm& alarm : state.alarms.open) alarm.channel = -1;
}

void clear_job(State& state) {
  state.values = {};
  state.polls = {};
  state.inputs.clear();
  state.input_known.clear();
  state.input_at.clear();
  state.instruments.clear();
  state.zeros.clear();
  state.marks_needed = {};
  state.marks_taking.clear();
  state.baseline_taking.reset();
  state.set_taking.reset();
  state.accepted.clear();
  state.run = {};
  state.proofs = {};
}

// Where the work stands, seen by another plan: a stage is the same if name and kind are. Whether the stage last entered
// still exists, `any` tells.
StageRun carried_over(StageRun run, const Plan& before, const Plan& plan) {
  StageRun kept = run;
  kept.any = false;
  kept.states.assign(plan.stages.size(), StageState::planned);
  for (std::size_t now = 0; now < plan.stages.size(); ++now)
    for (std::size_t old = 0; old < before.stages.size() && old < run.states.size(); ++old) {
      if (before.stages[old].name != plan.stages[now].name || before.stages[old].kind != plan.stages[now].kind) continue;
      kept.states[now] = run.states[old];
      const bool step_exists = run.step < std::max<std::size_t>(1, plan.stages[now].steps.size());
      if (!run.any || old != run.stage || !step_exists) continue;
      kept.any = true;
      kept.stage = static_cast<std::uint16_t>(now);
    }
  return kept;
}

// What was reached, observed and signed under another plan counts for nothing under this one.
void begin_step_anew(StageRun& run, Instant now) {
  if (!run.any || !is_live(run.states[run.stage])) return;
  run.states[run.stage] = StageState::running;
  begin_step(run, now);
}

// The plan now in force does not know the stage that was: none of its limits count, and that is no small thing.
void tell_lost_stage(State& state, const std::string& stage) {
  alarm_now(state, "stage '" + stage + "' is not in the plan now in force", Cause::plan_changed, Level::hold);
}

void take_job(State& state, std::shared_ptr<const Job> job, Rows& rows) {
  interrupt_proof(state, "interrupted by another revision", rows);
  interrupt_feelers(state, "interrupted by another revision", rows);
  end_permit(state, Cause::plan_changed, {}, rows);
  const bool same_plan = state.job && state.plan_sha256 == job->plan_sha256;
  const bool same_rig = state.job && state.rig_sha256 == job->rig_sha256;
  Values values = state.job ? carry_over(state.values, *state.job, *job) : start_values(*job);
  const Stage* stage_before = stage_in_force(state);
  const std::string lost_stage = stage_before ? stage_before->name : std::string();
  StageRun run = state.job ? carried_over(std::move(state.run), state.job->plan, job->plan) : StageRun{};
  if (!same_plan) begin_step_anew(run, state.now);
  const bool outputs_stay = state.job && (same_rig || same_outputs(state.job->rig, job->rig));
  const ProofBook proofs = outputs_stay ? state.proofs : ProofBook{};
  if (!outputs_stay && std::ranges::count(state.proofs.passed, true) > 0)
    rows.emplace_back(Notice{"proofs-void", "the outputs are to be proved anew: the revision changes them, or what stands on them"});
  const std::vector<Accepted> accepted = same_plan && same_rig ? state.accepted : std::vector<Accepted>{};
  std::vector<Zero> zeros = same_rig ? std::move(state.zeros) : std::vector<Zero>(job->rig.channels.size());
  clear_job(state);
  if (!same_rig) forget_places(state);
  // Another module's sounder is to be heard anew; one that was not heard stays so.
  if (!outputs_stay) state.sounder_test = {.since = {}, .heard = false, .not_heard = state.sounder_test.not_heard && has_sounder(job->rig)};
  state.zeros = std::move(zeros);
  state.accepted = accepted;
  state.values = std::move(values);
  state.polls = new_poll_book(*job);
  state.proofs = proofs;
  state.run = std::move(run);
  if (state.run.states.empty()) state.run.states.assign(job->plan.stages.size(), StageState::planned);
  state.inputs.assign(job->rig.inputs.size(), false);
  state.input_known.assign(job->rig.inputs.size(), false);
  state.input_at.assign(job->rig.inputs.size(), {});
  state.instruments.assign(job->rig.channels.size(), {});
  state.marks_taking.assign(job->plan.marks.size(), std::nullopt);
  state.values.references.marks.resize(job->plan.marks.size());
  state.outputs = {};
  state.outputs.last_report = state.now;
  state.rig_sha256 = job->rig_sha256;
  state.plan_sha256 = job->plan_sha256;
  state.no_job.clear();
  state.job_since = state.now;
  state.job = std::move(job);
  state.marks_needed = marks_needed(*state.job);
  resume_stage(state);
  renew_limits(state);
  judge_by_hand(state);
  if (!lost_stage.empty() && !state.run.any) tell_lost_stage(state, lost_stage);
  rows.emplace_back(Notice{"job-in-force", "plan revision " + state.job->plan.revision});
  ask_for_snapshot(Cause::plan_changed, rows);
  ++state.picture;
}

void take_no_job(State& state, const NoJob& none, Rows& rows) {
  end_permit(state, Cause::plan_changed, {}, rows);
  clear_job(state);
  forget_places(state);
  state.job.reset();
  state.rig_sha256.clear();
  state.plan_sha256.clear();
  state.no_job = none.why;
  renew_limits(state);
  ++state.picture;
}

// Null: of a job that is no longer in force.
const Block* block_of(const State& state, const Scan& scan) {
  return state.job && scan.block.at() < state.job->polls.blocks.size() ? &state.job->polls.blocks[scan.block.at()] : nullptr;
}

// As the stage in force asks it: as its most frequent member needs.
Duration period_of(const State& state, const Block& block) {
  if (block.channels.empty()) return block.every;
  Duration shortest = block.inputs.empty() ? state.values.channels[block.channels.front().channel.at()].every : block.every;
  for (const auto& place : block.channels) shortest = std::min(shortest, state.values.channels[place.channel.at()].every);
  return shortest;
}

void take_scan_event(State& state, const Scan& scan, Rows& rows) {
  const Block* block = block_of(state, scan);
  if (block == nullptr) return;
  const TakenAt taken{scan.taken_at + state.shift, state.wall};
  count_poll(state.polls, *state.job, scan, period_of(state, *block), state.now, rows);
  take_scan(state.values, *state.job, scan, taken, progress_of(state));
  take_inputs(state, *block, scan, taken.at);
  if (scan.flaw != Flaw::none) return;
  take_marks(state, scan);
  watch_feelers(state, *block, rows);
}

void mark_fresh(const State& state, const Scan& scan, Fresh& fresh) {
  const Block* block = block_of(state, scan);
  if (block == nullptr) return;
  // A refusal takes the number away at once; its limits must hear of it. A lost answer lets it age.
  for (const auto& place : block->channels)
    fresh.put(place.channel.at(), scan.flaw == Flaw::none || state.values.channels[place.channel.at()].reading.quality == Quality::bad);
}

void take_giving_not_durable(State& state, Rows& rows) {
  end_permit(state, Cause::giving_not_durable, {}, rows);
  alarm_now(state, "permit not on the disk in time", Cause::giving_not_durable, Level::hold);
}

}  // namespace

void lose_stale(State& state, Fresh& fresh) {
  forget_stale_inputs(state);
  const auto first = state.attention.stale.at();
  if (!first || *first > state.now) return;
  for (std::size_t c = 0; c < fresh.places(); ++c) {
    for (const auto& at : {state.values.channels[c].due_at, state.values.channels[c].stale_at})
      if (at && *at <= state.now) fresh.put(c);
  }
  age_channels(state.values.channels, state.now);
  note_readings(state, fresh);
}

void answer_last(Rows& rows) {
  const auto answer = std::find_if(rows.begin(), rows.end(),
                                   [](const EffectRow& row) { return std::holds_alternative<ActionAnswer>(row); });
  if (answer != rows.end()) std::rotate(answer, answer + 1, rows.end());
}

void note_boot(State& state, const Event& event) {
  const auto* started = std::get_if<Started>(&event.what);
  if (!started || started->boot_id == state.boot_id || state.boot_id.empty()) return;
  const Duration outage{std::max<std::int64_t>(0, event.wall.ns - state.wall.ns)};
  state.shift = (state.now + outage) - event.at;
}

void take(State& state, const Event& event, Fresh& fresh, Rows& rows) {
  struct Taker {
    State& state;
    Rows& rows;
    void operator()(const Tick&) {}
    void operator()(const Started& started) { take_started(state, started, rows); }
    void operator()(const Ended&) { state.ended_in_order = true; }
    void operator()(const JobInForce& in_force) { take_job(state, in_force.job, rows); }
    void operator()(const NoJob& none_now) { take_no_job(state, none_now, rows); }
    void operator()(const Scan& scan) { take_scan_event(state, scan, rows); }
    void operator()(const OutputReport& report) {
      if (!state.job || !state.job->rig.output_module) return;
      OutputReport shifted = report;
      shifted.at = report.at + state.shift;
      standfast::take(state.outputs, shifted, state.job->rig.output_module->settle);
    }
    void operator()(const Action& action) { act(state, action, rows); }
    void operator()(const RecordHealth& health) { state.record = health.state; }
    void operator()(const GivingNotDurable&) { take_giving_not_durable(state, rows); }
    void operator()(const ClockStep& step) {
      rows.emplace_back(Notice{"clock-step", std::to_string(step.by.ns) + " ns"});
    }
    void operator()(const QueueOverflow& overflow) {
      alarm_now(state, "readings lost: " + std::to_string(overflow.lost), Cause::queue_overflow, Level::hold);
    }
    void operator()(const EngineLate&) {
      alarm_now(state, "decisions", Cause::engine_late, Level::hold);
    }
    void operator()(const FilesOnDisk& files) {
      state.rig_differs = files.rig_differs;
      state.plan_differs = files.plan_differs;
    }
  };
  state.starting = false;
  std::visit(Taker{state, rows}, event.what);
  fresh.begin_anew(state.values.channels.size());  // Of the job that is in force by now.
  if (const auto* scan = std::get_if<Scan>(&event.what)) {
    mark_fresh(state, *scan, fresh);
    note_readings(state, fresh);
  } else if (const auto* action = std::get_if<Action>(&event.what)) {
    if (const auto channel = entered_by(state, *action, rows)) fresh.put(channel->at());
    renew_attention(state);
  } else if (std::holds_alternative<Started>(event.what)) {
    renew_attention(state);
  }
}

}  // namespace standfast
