#include "daemon/core/engine.hpp"

#include <algorithm>

#include "config/ensure.hpp"
#include "daemon/core/acts.hpp"
#include "daemon/core/criteria.hpp"
#include "daemon/core/inputs.hpp"
#include "daemon/core/instruments.hpp"
#include "daemon/core/limits.hpp"
#include "daemon/core/permits.hpp"
#include "daemon/core/progress.hpp"
#include "daemon/core/proofs.hpp"
#include "daemon/core/say.hpp"
#include "daemon/core/sounder_test.hpp"
#include "daemon/core/sounding.hpp"
#include "daemon/core/state.hpp"
#include "daemon/core/summary.hpp"
#include "daemon/core/taking.hpp"

namespace standfast {
namespace {

using Rows = std::vector<EffectRow>;

// After the baseline some stage's limits always count; a plan that has none for where the work stands is no licence.
bool stands_without_stage(const State& state) {
  const auto& baseline = state.values.references.baseline.channels;
  return state.job && !state.run.any &&
         std::any_of(baseline.begin(), baseline.end(), [](const auto& reference) { return reference.has_value(); });
}

// Conditions that are neither a limit's nor an instrument's.
void add_system_conditions(const State& state, std::vector<Condition>& conditions) {
  const auto add = [&](std::string subject, Cause cause, Level level) {
    conditions.push_back({.subject = std::move(subject), .cause = cause, .level = level, .say = {}});
  };
  if (!state.job && !state.starting) add("plan", Cause::no_accepted_plan, Level::hold);
  if (stands_without_stage(state)) add("no stage in force", Cause::plan_changed, Level::hold);
  if (state.record != RecordState::healthy) add("record", Cause::record_unhealthy, Level::hold);
  if (state.rig_differs) add("rig.yaml on disk is not in force", Cause::files_differ, Level::review);
  if (state.plan_differs) add("stages.yaml on disk is not in force", Cause::files_differ, Level::review);
}

std::vector<Condition> conditions_of(const State& state) {
  std::vector<Condition> conditions;
  add_system_conditions(state, conditions);
  if (state.job) {
    add_conditions(state.outputs, state.job->rig, site_stop_called(state), state.now, conditions);
    add_input_conditions(state, conditions);
    add_sounder_condition(state, conditions);
    add_instrument_conditions(state, conditions);
    add_unit_conditions(state, conditions);
    add_bus_conditions(state, conditions);
    add_limit_conditions(state, conditions);
  }
  for (Condition& condition : conditions)
    if (condition.say.empty()) condition.say = std::string(line_for_cause(condition.cause, condition.level));
  return conditions;
}

void settle_signal(State& state, Rows& rows) {
  const Level signal = signal_of(state.alarms);
  if (!latches(signal)) state.held_since.reset();
  else if (!state.held_since) state.held_since = state.now;
  if (signal == state.signal) return;
  const Alarm* lead = leading(state.alarms);
  rows.emplace_back(SignalChange{state.signal, signal, lead ? lead->cause : Cause::none, lead ? lead->subject : std::string()});
  if (latches(signal)) ask_for_snapshot(Cause::signal_raised, rows);
  state.signal = signal;
}

void settle_alarms(State& state, Rows& rows) {
  const std::size_t before = rows.size();
  std::vector<Condition> conditions = conditions_of(state);
  if (!state.momentary.empty()) {
    // What just happened comes first: it is the reason for much of what stands now.
    std::vector<Condition> with = state.momentary;
    with.insert(with.end(), conditions.begin(), conditions.end());
    settle(state.alarms, with, state.now, state.wall, rows);
    state.momentary.clear();
  }
  settle(state.alarms, conditions, state.now, state.wall, rows);
  settle_signal(state, rows);
  settle_sound(state, before, rows);
  if (rows.size() != before) ++state.picture;
}

// When a HOLD that nobody has ended calls out; only where nobody stands by. It counts from the first, however often its
// condition comes and goes.
std::optional<Instant> calls_out_at(const State& state) {
  const Stage* stage = stage_in_force(state);
  if (!stage || !stage->unattended || !state.held_since) return std::nullopt;
  return *state.held_since + stage->call_out_after;
}

bool calls_out(const State& state) {
  const auto at = calls_out_at(state);
  return state.signal == Level::stop || (at && *at <= state.now);
}

void settle_outputs(State& state, Rows& rows) {
  OutputImage wanted;
  wanted[OutputKind::raise_permit] = state.permit.upward();
  wanted[OutputKind::lower_permit] = state.permit.downward();
  wanted[OutputKind::stop_relay] = state.signal < Level::stop || state.permit.kind == PermitKind::recover;
  wanted[OutputKind::sounder] = state.sound != Sound::silent;
  wanted[OutputKind::beacon] = state.signal >= Level::hold;
  wanted[OutputKind::call_out] = !calls_out(state);
  const ProofRun& proof = state.proofs.run;
  const bool withhold = proof.running && !proof.dropped && (proof.proof == Proof::heartbeat || proof.proof == Proof::drop_by_heartbeat);
  if (wanted == state.wanted && withhold == state.heartbeat_withheld) return;
  bool gives = false;
  for (const OutputKind kind : {OutputKind::raise_permit, OutputKind::lower_permit, OutputKind::stop_relay, OutputKind::call_out})
    gives = gives || (wanted[kind] && !state.wanted[kind]);
  rows.emplace_back(OutputChange{wanted, gives, withhold});
  state.wanted = wanted;
  state.heartbeat_withheld = withhold;
}

// One whole evaluation at `state.now`, in the order of severity: what takes comes before what could give.
void settle(State& state, const Fresh& fresh, Rows& rows) {
  if (state.job) {
    observe_limits(state, fresh);
    pass_limits(state);
    note_instruments(state);
    note_where_they_stand(state, fresh);
  }
  settle_alarms(state, rows);
  if (state.job) settle_stage(state, fresh, rows);
  settle_permit(state, rows);
  if (state.proofs.run.running || !state.momentary.empty()) {
    settle_proof(state, rows);
    if (!state.momentary.empty()) settle_alarms(state, rows);
    settle_permit(state, rows);
  }
  settle_outputs(state, rows);
}

void stamp(Effects& effects, Instant now) { effects.instants.resize(effects.rows.size(), now); }

std::optional<Instant> next_instant(const State& state) {
  std::optional<Instant> next;
  const auto consider = [&](std::optional<Instant> at) {
    if (at && (!next || *at < *next)) next = at;
  };
  consider(next_of_sound(state));
  consider(ends_at(state.permit));
  if (!state.job) return next;
  consider(state.attention.stale.at());
  consider(next_never_read(state));
  consider(next_stale_input(state));
  consider(next_trip(state));
  consider(next_of_stage(state));
  consider(next_of_proof(state));
  consider(silent_at(state.outputs, state.now));
  if (const auto at = calls_out_at(state); at && *at > state.now) consider(at);
  return next;
}

// Time alone: every instant at which something is due, in order, each as if it had been an event of its own. `due`: the
// first of them.
void advance(State& state, std::optional<Instant> due, Instant to, Fresh& fresh, Effects& effects) {
  while (due && *due <= to) {
    const Duration passed = std::max(*due, state.now) - state.now;
    state.now = state.now + passed;
    state.wall.ns += passed.ns;
    fresh.begin_anew(state.values.channels.size());
    if (state.job) lose_stale(state, fresh);
    settle(state, fresh, effects.rows);
    stamp(effects, state.now - state.shift);
    due = next_instant(state);
    ENSURE(!due || *due > state.now);  // What was due has been done; else time would stand still here.
  }
}

}  // namespace

Engine::Engine() : state_{std::make_unique<State>()} {}
Engine::~Engine() = default;
Engine::Engine(Engine&&) noexcept = default;
Engine& Engine::operator=(Engine&&) noexcept = default;

Effects Engine::apply(const Event& event) {
  State& state = *state_;
  Effects effects;
  note_boot(state, event);
  const Instant at = event.at + state.shift;
  // Over an outage nobody decided anything, and nothing may be dated inside it.
  if (!std::holds_alternative<Started>(event.what)) advance(state, due_, at, fresh_, effects);
  if (!std::holds_alternative<Tick>(event.what)) {
    state.now = std::max(state.now, at);
    state.wall = event.wall;
    take(state, event, fresh_, effects.rows);
    if (state.job) lose_stale(state, fresh_);  // An answer can be too old on its arrival.
    settle(state, fresh_, effects.rows);
    if (std::holds_alternative<Scan>(event.what) && summarise(state, effects.rows)) look_everywhere(state);
    // An answer is the last word on its action, behind everything that the action changed.
    if (std::holds_alternative<Action>(event.what)) answer_last(effects.rows);
    stamp(effects, state.now - state.shift);
  }
  effects.wanted = state.wanted;
  effects.sound = state.sound;
  effects.withhold_heartbeat = state.heartbeat_withheld;
  look_ahead();
  effects.next = due_;
  if (effects.next) *effects.next = *effects.next - state.shift;
  return effects;
}

void Engine::look_ahead() { due_ = next_instant(*state_); }

}  // namespace standfast
