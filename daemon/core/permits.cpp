#include "daemon/core/permits.hpp"

#include <algorithm>

namespace standfast {
namespace {

// A rise is a hundredth of a percent of the expected column load: less is noise of the transducers.
constexpr double least_rise = 1e-4;

bool is_accepted(const State& state, const std::string& channel) {
  return std::find(state.accepted.begin(), state.accepted.end(), channel) != state.accepted.end();
}

std::optional<Refusal> unready_channel(const State& state) {
  for (std::size_t c = 0; c < state.values.channels.size(); ++c) {
    if (state.in_force.needed[c] == Level::none) continue;
    const std::string& name = state.job->rig.channels[c].name;
    const Reading& reading = state.values.channels[c].reading;
    const std::string why = name + ": " + std::string(entry_of(reading.cause).text);
    if (reading.quality == Quality::bad) return Refusal{"reading-bad", why};
    if (reading.quality == Quality::uncertain && !is_accepted(state, name)) return Refusal{"reading-uncertain", why};
  }
  return std::nullopt;
}

std::optional<Refusal> unready_limit(const State& state) {
  for (std::size_t i = 0; i < state.limits.size(); ++i) {
    const LimitMemory& memory = state.limits[i];
    if (memory.gated_off || memory.last.high.quality != Quality::bad) continue;
    return Refusal{"limit-without-value", memory.name + ": " + std::string(entry_of(memory.last.high.cause).text)};
  }
  return std::nullopt;
}

std::optional<Refusal> unproved(const State& state, PermitKind kind) {
  if (kind != PermitKind::raise && kind != PermitKind::top_up) return std::nullopt;
  const Stage* stage = stage_in_force(state);
  if (!state.proofs.has(Proof::heartbeat)) return Refusal{"not-proved", "proof heartbeat has not been passed"};
  if (stage->kind == StageKind::raise && !state.proofs.all_drops())
    return Refusal{"not-proved", "the drops of the permit under snug load have not all been proved"};
  return std::nullopt;
}

std::optional<Refusal> unready_outputs(const State& state) {
  const auto& module = state.job->rig.output_module;
  if (!module || !state.outputs.answered_once || is_silent(state.outputs, state.now)) return Refusal{"output-silent", "the output module does not answer"};
  if (!settings_as_stated(state.outputs, *module))
    return Refusal{"output-settings", "watchdog, safe or power-on values of the output module are not as the rig states"};
  if (state.outputs.facts.simulated != state.job->rig.simulated)
    return Refusal{"simulation", "a simulated output module and a real rig, or the other way round"};
  return std::nullopt;
}

Judged total(const State& state) { return total_load(context_of(state, Take::as_read)).sum; }

void note_rise(State& state) {
  const Judged sum = total(state);
  if (!sum.high.has_number()) return;
  const double step = least_rise * state.job->plan.column_expected.si();
  if (!exceeds(sum.high.value, amount(Force::from_si(state.permit.highest_total + step)))) return;
  state.permit.highest_total = sum.high.value.si;
  state.permit.risen_at = state.now;
}

bool beyond_top_of_band(const State& state) {
  const Step* step = step_in_force(state);
  if (!step) return true;
  const ValueContext context = context_of(state, Take::as_read);
  return std::any_of(step->targets.begin(), step->targets.end(), [&](const JackTarget& target) {
    const Force top = target.load + target.load * step->within.si();
    return is_beyond({.above = amount(top)}, load_of(target.jack, context), 0);
  });
}

bool beyond_pressure(const State& state, double limit) {
  const Rig& rig = state.job->rig;
  return std::any_of(rig.jacks.begin(), rig.jacks.end(), [&](const Jack& jack) {
    const Reading& pressure = state.values.channels[jack.advance.at()].reading;
    return is_beyond({.above = amount(Pressure::from_si(limit))}, {pressure, pressure}, 0);
  });
}

// The named jacks have gone as far as was agreed, or the tripped quantity further than was agreed.
bool recover_bound_reached(const State& state) {
  const Permit& permit = state.permit;
  const ValueContext context = context_of(state, Take::as_read);
  const Amount bound = amount(Force::from_si(permit.recover.load));
  for (const auto jack : permit.recover.jacks) {
    const Judged load = load_of(JackId{jack}, context);
    if (load.high.quality == Quality::bad) return true;
    const LevelInForce level = permit.recover.up ? LevelInForce{.above = bound} : LevelInForce{.below = bound};
    if (is_beyond(level, load, 0)) return true;
  }
  for (std::size_t t = 0; t < permit.tripped.size(); ++t)
    for (const LimitMemory& memory : state.limits) {
      if (memory.name != permit.tripped[t] || !memory.last.high.has_number()) continue;
      const Dimension d = memory.last.high.value.dimension;
      const LevelInForce level{.above = Amount{d, permit.tripped_at[t] + permit.recover.further},
                               .below = Amount{d, permit.tripped_at[t] - permit.recover.further}};
      if (is_beyond(level, memory.last, 0)) return true;
    }
  return false;
}

// Rating and stroke stay at STOP under a recover permit too, unless they are what it is to recover from.
bool another_guard_tripped(const State& state) {
  for (std::size_t i = 0; i < state.limits.size(); ++i) {
    const bool stop = state.in_force.limits[i].guard && state.limits[i].watches[2].active;
    const auto& known = state.permit.tripped;
    if (stop && std::find(known.begin(), known.end(), state.limits[i].name) == known.end()) return true;
  }
  return false;
}

// A needed reading that is bad takes the permit; under recover only its own jacks count, and they are asked above.
bool needed_is_bad(const State& state) {
  for (std::size_t c = 0; c < state.values.channels.size(); ++c)
    if (state.in_force.needed[c] != Level::none && state.values.channels[c].reading.quality == Quality::bad) return true;
  return false;
}

void note_band(State& state) {
  if (state.permit.kind != PermitKind::raise && state.permit.kind != PermitKind::top_up) return;
  if (!state.run.in_band) state.permit.in_band_since.reset();
  else if (!state.permit.in_band_since) state.permit.in_band_since = state.now;
}

std::optional<Cause> ground_to_end(const State& state) {
  const Permit& permit = state.permit;
  if (permit.kind != PermitKind::recover && state.signal >= Level::hold) return Cause::signal_raised;
  if (permit.kind != PermitKind::recover && needed_is_bad(state)) return Cause::reading_bad;
  if (unready_outputs(state)) return Cause::output_silent;
  if (state.record != RecordState::healthy) return Cause::record_unhealthy;
  const Stage* stage = live_stage(state.run, state.job->plan);
  if (!stage) return Cause::stage_changed;
  if (permit.in_band_since && state.now - *permit.in_band_since >= permit_in_band) return Cause::target_reached;
  const StageState now_in = state_of(state.run);
  const bool reached = permit.kind == PermitKind::raise && now_in == StageState::observation;
  if (!reached && !belongs_to(permit.kind, stage->kind, now_in)) return Cause::stage_changed;
  if (permit.kind == PermitKind::top_up && beyond_top_of_band(state)) return Cause::bound_reached;
  if (permit.kind == PermitKind::commission && beyond_pressure(state, permit.pressure_limit)) return Cause::bound_reached;
  if (permit.kind == PermitKind::recover && (recover_bound_reached(state) || another_guard_tripped(state))) return Cause::bound_reached;
  if (permit.kind == PermitKind::recover && state.now - permit.given_at >= recover_at_most) return Cause::timed_out;
  if (state.now - permit.risen_at >= permit_without_rise) return Cause::timed_out;
  return std::nullopt;
}

}  // namespace

std::optional<Refusal> refusal_to_permit(const State& state, PermitKind kind) {
  if (!state.job) return Refusal{"no-plan", state.no_job};
  const Stage* stage = live_stage(state.run, state.job->plan);
  if (!stage) return Refusal{"no-stage", "no stage is running"};
  if (!belongs_to(kind, stage->kind, state_of(state.run)))
    return Refusal{"not-in-this-stage", std::string(permit_name(kind)) + " does not belong to the stage as it stands"};
  if (state.permit.given()) return Refusal{"permit-given", "a permit is given already; end it first"};
  if (state.record != RecordState::healthy) return Refusal{"record", "the record is not being written"};
  if (state.proofs.run.running) return Refusal{"proof-running", "a proof is running"};
  if (const auto refusal = unready_outputs(state)) return refusal;
  if (kind == PermitKind::recover) {
    if (state.signal < Level::hold) return Refusal{"no-hold", "recover is for HOLD and STOP only"};
    return std::nullopt;
  }
  if (state.signal >= Level::hold) return Refusal{"signal", "the signal is HOLD or STOP"};
  if (const auto refusal = unready_channel(state)) return refusal;
  if (const auto refusal = unready_limit(state)) return refusal;
  return unproved(state, kind);
}

void give(State& state, Permit permit, std::vector<EffectRow>& rows) {
  permit.given_at = permit.risen_at = state.now;
  const Judged sum = total(state);
  permit.highest_total = sum.high.has_number() ? sum.high.value.si : 0;
  state.permit = std::move(permit);
  ++state.picture;
  const Step* step = step_in_force(state);
  rows.emplace_back(PermitChange{state.permit.kind, true, Cause::none, stage_in_force(state)->name, step ? step->name : std::string(),
                                 state.permit.circuits, state.permit.by, state.permit.second});
}

void end_permit(State& state, Cause cause, const std::string& by, std::vector<EffectRow>& rows) {
  if (!state.permit.given()) return;
  const Stage* stage = stage_in_force(state);
  const Step* step = step_in_force(state);
  rows.emplace_back(PermitChange{state.permit.kind, false, cause, stage ? stage->name : std::string(), step ? step->name : std::string(),
                                 state.permit.circuits, by, {}});
  state.permit = {};
  ++state.picture;
}

void settle_permit(State& state, std::vector<EffectRow>& rows) {
  if (!state.permit.given()) return;
  if (!state.job) return end_permit(state, Cause::plan_changed, {}, rows);
  note_rise(state);
  note_band(state);
  if (const auto cause = ground_to_end(state)) end_permit(state, *cause, {}, rows);
}

}  // namespace standfast
