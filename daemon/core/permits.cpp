#include "daemon/core/permits.hpp"

#include <algorithm>

#include "daemon/core/by_hand.hpp"

namespace standfast {
namespace {

// A rise is a hundredth of a percent of the expected column load: less is noise of the transducers.
constexpr double least_rise = 1e-4;

std::optional<Refusal> unready_channel(const State& state) {
  for (std::size_t c = 0; c < state.values.channels.size(); ++c) {
    if (state.in_force.needed[c] == Level::none) continue;
    const std::string& name = state.job->rig.channels[c].name;
    const Reading& reading = state.values.channels[c].reading;
    const std::string why = name + ": " + std::string(entry_of(reading.cause).text);
    if (reading.quality == Quality::bad) return Refusal{"reading-bad", why};
    if (is_overdue(state, c)) return Refusal{"entry-overdue", name + ": " + std::string(entry_of(Cause::entry_overdue).text)};
    if (reading.quality == Quality::uncertain && !is_accepted(state, name, reading.cause)) return Refusal{"reading-uncertain", why};
  }
  return std::nullopt;
}

// A doubt that one of its channels has by itself is accepted, or not, with that channel. One that lies between its parts
// (their age, their agreement, the curve behind them) is accepted by the limit's own name.
bool is_doubt_of_a_channel(const State& state, const LimitInForce& limit, Cause doubt) {
  return std::any_of(limit.channels.begin(), limit.channels.end(), [&](ChannelId channel) {
    const Reading& reading = state.values.channels[channel.at()].reading;
    return reading.quality == Quality::uncertain && reading.cause == doubt;
  });
}

// Its window holds what the work itself brings: pairs of load and travel, time under load. While nobody may raise it stays
// empty, so that it cannot be waited for. A slope over a window of time fills by waiting, and is waited for.
bool fills_with_the_work(const QuantityRef& of) {
  return of.kind == QuantityKind::stiffness_ratio || of.kind == QuantityKind::creep;
}

// As of now: a window may have emptied since the limit was last evaluated.
Reading value_now(const State& state, std::size_t limit) {
  return evaluate(state.in_force.limits[limit].limit.of, context_of(state, Take::as_read)).high;
}

bool is_filling_with_the_work(const State& state, std::size_t limit) {
  return fills_with_the_work(state.in_force.limits[limit].limit.of) && !state.limits[limit].gated_off &&
         value_now(state, limit).cause == Cause::filling;
}

std::optional<Refusal> unready_limit(const State& state) {
  for (std::size_t i = 0; i < state.limits.size(); ++i) {
    const std::string& name = state.limits[i].name;
    if (state.limits[i].gated_off || is_filling_with_the_work(state, i)) continue;
    const Reading value = value_now(state, i);
    if (value.quality == Quality::good) continue;
    const std::string why = name + ": " + std::string(entry_of(value.cause).text);
    if (value.quality == Quality::bad) return Refusal{"limit-without-value", why};
    if (!is_doubt_of_a_channel(state, state.in_force.limits[i], value.cause) && !is_accepted(state, name, value.cause))
      return Refusal{"limit-uncertain", why};
  }
  return std::nullopt;
}

// What goes on in this state of a stage: a refusal that names no way on is asked again.
std::string way_on(StageKind kind, StageState state) {
  if (belongs_to(PermitKind::raise, kind, state)) return "; `permit raise` does";
  if (belongs_to(PermitKind::top_up, kind, state)) return "; in its observation period `permit top-up` does";
  if (belongs_to(PermitKind::commission, kind, state)) return "; `permit commission` does";
  if (state == StageState::criteria_met) return ": all it asks for is met, and it can be proposed for approval";
  if (state == StageState::awaiting_approval) return ": it awaits approval";
  return {};
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
  if (!module || !state.outputs.answered_once || is_silent(state.outputs, state.now))
    return Refusal{"output-silent", "the output module does not answer"};
  if (const auto wrong = settings_not_as_stated(state.outputs, *module); !wrong.empty())
    return Refusal{"output-settings", wrong.front() + " is not as the rig states"};
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

// Pressure and travel of a named jack: bad, or off the scale of its instrument.
bool jack_unseen(const State& state, const Jack& jack) {
  const auto lost = [&](ChannelId channel) { return !state.values.channels[channel.at()].reading.has_number(); };
  return lost(jack.advance) || (jack.retract && lost(*jack.retract)) || (jack.stroke_channel && lost(*jack.stroke_channel));
}

bool jack_at_bound(const State& state, JackId jack) {
  const Amount bound = amount(Force::from_si(state.permit.recover.load));
  const LevelInForce level = state.permit.recover.up ? LevelInForce{.above = bound} : LevelInForce{.below = bound};
  return is_beyond(level, load_of(jack, context_of(state, Take::as_read)), 0);
}

const LimitMemory* memory_of(const State& state, const std::string& limit) {
  const auto found = std::find_if(state.limits.begin(), state.limits.end(), [&](const LimitMemory& m) { return m.name == limit; });
  return found == state.limits.end() ? nullptr : &*found;
}

// The permit is commanded and its contact stays open: a stop on site whose input is not wired, or not read, looks like this.
bool circuit_is_open(const State& state) {
  const auto k = static_cast<std::size_t>(state.permit.upward() ? OutputKind::raise_permit : OutputKind::lower_permit);
  return state.outputs.written.on[k] && state.outputs.differing[k] >= differing_to_count;
}

// Under recover only its own jacks, its bound and the tripped quantities count; and no STOP may come to those that stood.
std::optional<Cause> ground_to_end_recover(const State& state) {
  const RecoverBound& recover = state.permit.recover;
  if (circuit_is_open(state)) return Cause::output_circuit_open;
  for (const auto jack : recover.jacks) {
    if (jack_unseen(state, state.job->rig.jacks[jack])) return Cause::reading_bad;
    if (jack_at_bound(state, JackId{jack})) return Cause::bound_reached;
  }
  for (const Tripped& tripped : recover.tripped) {
    const LimitMemory* memory = memory_of(state, tripped.limit);
    if (!memory || (tripped.unseen && !memory->last.high.has_number())) continue;
    if (memory->last.high.quality == Quality::bad) return Cause::reading_bad;
    if (is_beyond({.above = tripped.highest, .below = tripped.lowest}, memory->last, 0)) return Cause::bound_reached;
  }
  // A STOP that was latched and comes back is as new as one with a new number, unless its limit is bounded above.
  const auto is_bounded = [&](const Alarm& alarm) {
    return std::any_of(recover.tripped.begin(), recover.tripped.end(), [&](const Tripped& t) { return t.limit == alarm.subject; });
  };
  const auto newly_stopped = [&](const Alarm& alarm) {
    const bool is_back = condition_present(alarm.state) && alarm.raised_at > state.permit.given_at && !is_bounded(alarm);
    return alarm.level == Level::stop && (alarm.number > recover.known || is_back);
  };
  if (std::any_of(state.alarms.open.begin(), state.alarms.open.end(), newly_stopped)) return Cause::signal_raised;
  if (state.signal < Level::hold) return Cause::not_needed;
  if (state.now - state.permit.given_at >= recover_at_most) return Cause::timed_out;
  return std::nullopt;
}

// A needed reading that is bad takes the permit; under recover only its own jacks count, and they are asked above.
bool needed_is_bad(const State& state) {
  return state.attention.not_good.any_of([&](std::size_t c) {
    return state.in_force.needed[c] != Level::none && state.values.channels[c].reading.quality == Quality::bad;
  });
}

// A rate that could be judged when the permit was given, and cannot any more: its window has lost readings one by one, and
// none of the gaps was long enough for the channel to be called bad.
bool rate_is_lost(const State& state) {
  const std::vector<std::size_t>& rates = state.attention.rates;
  return std::any_of(rates.begin(), rates.end(), [&](std::size_t i) {
    return !state.limits[i].gated_off && value_now(state, i).quality == Quality::bad;
  });
}

// A proof needs the permit on: it does not end by standing still meanwhile.
void note_band(State& state) {
  Permit& permit = state.permit;
  if (permit.kind != PermitKind::raise && permit.kind != PermitKind::top_up) return;
  if (!state.run.in_band || state.proofs.run.running) return permit.in_band_since.reset();
  if (!permit.in_band_since) permit.in_band_since = state.now;
  if (permit.kind == PermitKind::top_up) permit.in_band_since = std::max(*permit.in_band_since, permit.risen_at);
}

// What every permit but recover asks for.
std::optional<Cause> ground_to_end_usual(const State& state) {
  const Permit& permit = state.permit;
  if (state.signal >= Level::hold) return Cause::signal_raised;
  if (needed_is_bad(state) || rate_is_lost(state)) return Cause::reading_bad;
  if (permit.in_band_since && state.now - *permit.in_band_since >= permit_in_band) return Cause::target_reached;
  const Stage* stage = live_stage(state.run, state.job->plan);
  if (!stage) return Cause::stage_changed;
  const StageState now_in = state_of(state.run);
  const bool reached = permit.kind == PermitKind::raise && now_in == StageState::observation;
  if (!reached && !belongs_to(permit.kind, stage->kind, now_in)) {
    if (now_in == StageState::criteria_met) return Cause::criteria_met;
    return now_in == StageState::running ? Cause::band_left : Cause::stage_changed;
  }
  const bool to_a_target = permit.kind == PermitKind::raise || permit.kind == PermitKind::top_up;
  if (to_a_target && beyond_top_of_band(state)) return Cause::bound_reached;
  if (permit.kind == PermitKind::commission && beyond_pressure(state, permit.pressure_limit)) return Cause::bound_reached;
  if (state.now - permit.risen_at >= permit_without_rise) return Cause::timed_out;
  return std::nullopt;
}

std::optional<Cause> ground_to_end(const State& state) {
  if (state.permit.stage != state.run.stage || state.permit.step != state.run.step) return Cause::stage_changed;
  if (unready_outputs(state)) return Cause::output_silent;
  if (state.record != RecordState::healthy) return Cause::record_unhealthy;
  // Its contact opens the circuit by itself; without this, letting it go would close the circuit again.
  if (site_stop_called(state)) return Cause::site_stop;
  return state.permit.kind == PermitKind::recover ? ground_to_end_recover(state) : ground_to_end_usual(state);
}

}  // namespace

std::optional<Refusal> refusal_to_permit(const State& state, PermitKind kind) {
  if (!state.job) return Refusal{"no-plan", state.no_job};
  const bool recovers = kind == PermitKind::recover;
  const Stage* stage = recovers ? stage_in_force(state) : live_stage(state.run, state.job->plan);
  if (!stage) return Refusal{"no-stage", "no stage is running"};
  if (!belongs_to(kind, stage->kind, state_of(state.run)))
    return Refusal{"not-in-this-stage", std::string(permit_name(kind)) + " does not belong to the stage as it stands" +
                                              way_on(stage->kind, state_of(state.run))};
  if (state.permit.given()) return Refusal{"permit-given", "a permit is given already; end it first"};
  if (state.record != RecordState::healthy) return Refusal{"record", "the record is not being written"};
  if (state.proofs.run.running && !recovers) return Refusal{"proof-running", "a proof is running"};
  if (const auto refusal = unready_outputs(state)) return refusal;
  if (site_stop_called(state)) return Refusal{"site-stop", "the stop on site is pressed"};
  if (recovers) {
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
  permit.stage = state.run.stage;
  permit.step = state.run.step;
  const Judged sum = total(state);
  permit.highest_total = sum.high.has_number() ? sum.high.value.si : 0;
  state.permit = std::move(permit);
  ++state.picture;
  const Step* step = step_in_force(state);
  rows.emplace_back(PermitChange{state.permit.kind, true, Cause::none, stage_in_force(state)->name, step ? step->name : std::string(),
                                 state.permit.circuits, state.permit.by, state.permit.second});
  if (const std::string filling = still_filling(state); !filling.empty()) rows.emplace_back(Notice{"filling", filling});
}

std::string still_filling(const State& state) {
  std::string names;
  for (std::size_t i = 0; i < state.limits.size(); ++i)
    if (is_filling_with_the_work(state, i)) names += (names.empty() ? "" : ", ") + state.limits[i].name;
  return names.empty() ? names : "filling, so not watched yet: " + names;
}

std::string words_with_permit(const State& state) {
  const bool for_circuits = state.permit.kind == PermitKind::raise || state.permit.kind == PermitKind::top_up;
  const auto& circuits = state.job->rig.circuits;
  const std::string named = " " + state.permit.circuits + " ";
  const bool all = std::all_of(circuits.begin(), circuits.end(), [&](const Circuit& each) {
    return named.find(" " + each.name + " ") != std::string::npos;
  });
  std::string words;
  if (for_circuits && !state.permit.circuits.empty() && !all)
    words = "; the rig has one permit contact: the named circuits are the crew's word, not a switch";
  if (const std::string filling = still_filling(state); !filling.empty()) words += "; " + filling;
  return words.empty() ? words : "permit given" + words;
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
