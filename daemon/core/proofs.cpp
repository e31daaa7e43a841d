#include "daemon/core/proofs.hpp"

#include <algorithm>

#include "daemon/core/criteria.hpp"
#include "daemon/core/say.hpp"

namespace standfast {
namespace {

constexpr auto raise_bit = static_cast<std::size_t>(OutputKind::raise_permit);

bool permit_is_on(const State& state) {
  return state.outputs.written.on[raise_bit] && state.outputs.readback[raise_bit] == true;
}
bool answers(const State& state) { return !is_silent(state.outputs, state.now) && !state.outputs.failing_since; }
bool permit_is_off(const State& state) { return answers(state) && state.outputs.readback[raise_bit] == false; }

const Reading& pressure_of(const State& state, std::size_t jack) {
  return state.values.channels[state.job->rig.jacks[jack].advance.at()].reading;
}
const Reading* ram_of(const State& state, std::size_t jack) {
  const auto& channel = state.job->rig.jacks[jack].stroke_channel;
  return channel ? &state.values.channels[channel->at()].reading : nullptr;
}

// The loads as they stand with the permit on: what the drop may take from them is counted from here.
void note_loads(State& state) {
  ProofRun& run = state.proofs.run;
  run.pressures.clear();
  run.travels.clear();
  for (std::size_t j = 0; j < state.job->rig.jacks.size(); ++j) {
    run.pressures.push_back(pressure_of(state, j).value.si);
    const Reading* ram = ram_of(state, j);
    run.travels.push_back(ram ? ram->value.si : 0);
  }
}

// Nothing is proved by a number that is doubted, and nobody can accept it for a proof.
bool counts(const State& state, ChannelId channel) {
  return state.values.channels[channel.at()].reading.quality == Quality::good;
}

// What the load has lost since the permit dropped; none while nothing.
std::optional<ProofFailure> loss(const State& state) {
  const ProofRun& run = state.proofs.run;
  const Plan& plan = state.job->plan;
  for (std::size_t j = 0; j < state.job->rig.jacks.size(); ++j) {
    const std::string& name = state.job->rig.jacks[j].name;
    const Reading& pressure = pressure_of(state, j);
    if (!counts(state, state.job->rig.jacks[j].advance)) return ProofFailure{"no pressure of " + name + " to go by", {}, {}};
    const double allowed_fall = run.pressures[j] * plan.proofs.pressure_loss.si();
    const Dimension d = pressure.value.dimension;
    if (exceeds({d, run.pressures[j] - allowed_fall}, pressure.value))
      return ProofFailure{"pressure of " + name + " fell", Amount{d, run.pressures[j] - pressure.value.si}, Amount{d, allowed_fall}};
    const Reading* ram = ram_of(state, j);
    if (!ram) continue;
    if (!counts(state, *state.job->rig.jacks[j].stroke_channel)) return ProofFailure{"no travel of " + name + " to go by", {}, {}};
    const Amount allowed = amount(plan.proofs.travel_loss);
    const double moved = ram->value.si - run.travels[j];
    if (exceeds({ram->value.dimension, moved}, allowed) || exceeds({ram->value.dimension, -moved}, allowed))
      return ProofFailure{"travel of " + name + (moved < 0 ? " fell" : " rose"),
                          Amount{allowed.dimension, moved < 0 ? -moved : moved}, allowed};
  }
  return std::nullopt;
}

// As it stands in the record, in SI numbers.
std::string facts_of(const ProofFailure& failure) {
  if (!failure.lost) return failure.why;
  const auto text = [](const Amount& part) { return value_text({.quality = Quality::good, .value = part}); };
  return failure.why + " " + text(*failure.lost) + ", " + text(*failure.allowed) + " is allowed";
}

std::string watched_facts(const State& state) {
  std::string facts;
  for (std::size_t j = 0; j < state.job->rig.jacks.size(); ++j)
    facts += (j ? "; " : "") + state.job->rig.jacks[j].name + " " + value_text(pressure_of(state, j));
  return facts;
}

void finish(State& state, bool passed, const std::string& facts, std::vector<EffectRow>& rows) {
  ProofRun& run = state.proofs.run;
  const auto place = static_cast<std::size_t>(run.proof);
  state.proofs.passed[place] = passed;
  state.proofs.failures[place] = passed ? ProofFailure{} : ProofFailure{facts, {}, {}};
  rows.emplace_back(ProofResult{std::string(proof_name(run.proof)), passed, facts});
  run = {};
  ++state.picture;
}

void fail(State& state, const std::string& facts, std::vector<EffectRow>& rows) {
  state.momentary.push_back({.subject = "proof " + std::string(proof_name(state.proofs.run.proof)), .cause = Cause::proof_failed,
                             .level = Level::hold, .say = std::string(line_for_cause(Cause::proof_failed, Level::hold))});
  finish(state, false, facts, rows);
}

// A permit that was withdrawn for another reason goes off too, and proves nothing.
bool ended_otherwise(const State& state) {
  const ProofRun& run = state.proofs.run;
  return run.proof != Proof::drop_by_command && !run.lost && !state.permit.given();
}

void fail_by_loss(State& state, const ProofFailure& lost, std::vector<EffectRow>& rows) {
  const auto place = static_cast<std::size_t>(state.proofs.run.proof);
  fail(state, facts_of(lost), rows);
  state.proofs.failures[place] = lost;
}

bool withholds(Proof proof) { return proof == Proof::heartbeat || proof == Proof::drop_by_heartbeat; }

std::string milliseconds_text(Duration time) { return std::to_string(time.ns / 1'000'000) + " ms"; }

// What may drop the permit beside a heartbeat that is missing; empty while nothing.
std::string interference(const State& state) {
  if (site_stop_called(state)) return "the stop on site was pressed";
  if (state.outputs.failing_since) return "the output module did not answer throughout";
  if (!state.outputs.written.on[raise_bit]) return "the permit was not commanded throughout";
  return {};
}

// Why a drop that was seen is none of the watchdog's; empty if it may be.
std::string wrong_time(const State& state) {
  const OutputModuleStatement& module = *state.job->rig.output_module;
  const Duration after = state.outputs.last_report - state.proofs.run.since;
  const DropWindow window = drop_window(state.outputs.facts.watchdog.value_or(Duration{}), module.heartbeat_period, module.settle);
  if (after < window.from) return "the permit dropped after " + milliseconds_text(after) + ", before the watchdog could have acted";
  if (after > window.to) return "the permit dropped after " + milliseconds_text(after) + ", later than the watchdog's time";
  return {};
}

void fail_with_permit(State& state, const std::string& facts, std::vector<EffectRow>& rows) {
  end_permit(state, Cause::proof_running, state.proofs.run.by, rows);
  fail(state, facts, rows);
}

void note_drop(State& state, std::vector<EffectRow>& rows) {
  ProofRun& run = state.proofs.run;
  end_permit(state, Cause::proof_running, run.by, rows);
  run.dropped = true;
  run.dropped_at = state.outputs.last_report;
  run.unstopped = !withholds(run.proof);
  run.since = state.now;
}

// One lost answer is no pulled cable: the module is lost when it counts as silent, which is what ends the permit.
void watch_cable(State& state) {
  ProofRun& run = state.proofs.run;
  if (run.proof != Proof::drop_by_cable || run.lost) return;
  const bool failing = state.outputs.failing_since.has_value();
  if (failing && !run.failing) note_loads(state);
  run.failing = failing;
  run.lost = is_silent(state.outputs, state.now);
}

void wait_for_drop(State& state, std::vector<EffectRow>& rows) {
  ProofRun& run = state.proofs.run;
  watch_cable(state);
  if (withholds(run.proof) && (state.permit.given() || site_stop_called(state)))
    if (const std::string why = interference(state); !why.empty()) return fail_with_permit(state, why, rows);
  if (ended_otherwise(state)) return finish(state, false, "interrupted: the permit ended before the drop was seen", rows);
  if (run.lost && answers(state) && state.outputs.readback[raise_bit] == true)
    return fail_with_permit(state, "the module kept the permit while its cable was out", rows);
  const bool seen = permit_is_off(state) && (run.proof != Proof::drop_by_cable || run.lost);
  if (run.lost) end_permit(state, Cause::proof_running, run.by, rows);
  if (seen && withholds(run.proof))
    if (const std::string why = wrong_time(state); !why.empty()) return fail_with_permit(state, why, rows);
  if (seen) return note_drop(state, rows);
  if (state.now - run.since >= drop_within(run.proof)) fail_with_permit(state, "the permit was not seen to drop", rows);
}

// A person who presses the stop on site at the right moment must not pass for a watchdog. Its contact opens the permit's
// circuit before its input is read: so it is asked of a reading younger than the drop.
void ask_site_stop(State& state, std::vector<EffectRow>& rows) {
  ProofRun& run = state.proofs.run;
  if (site_stop_called(state)) return fail(state, "the stop on site was pressed", rows);
  const std::vector<Input>& inputs = state.job->rig.inputs;
  run.unstopped = true;
  for (std::size_t i = 0; i < inputs.size(); ++i) {
    const bool read_since = state.input_known[i] && state.input_at[i] > run.dropped_at;
    if (inputs[i].meaning == InputMeaning::site_stop && !read_since) run.unstopped = false;
  }
  if (!run.unstopped && state.now - run.since >= site_stop_read_within)
    fail(state, "the stop on site was not read after the drop", rows);
}

}  // namespace

std::string_view proof_name(Proof proof) {
  switch (proof) {
    case Proof::heartbeat: return "heartbeat";
    case Proof::drop_by_command: return "drop-by-command";
    case Proof::drop_by_heartbeat: return "drop-by-heartbeat";
    case Proof::drop_by_cable:
      return "drop-by-cable";
  }
  return "";
}

std::optional<Proof> proof_of(std::string_view name) {
  for (int p = 0; p < proof_count; ++p)
    if (proof_name(static_cast<Proof>(p)) == name) return static_cast<Proof>(p);
  return std::nullopt;
}

namespace {

std::string permit_to_ask_for(const State& state, const Stage& stage) {
  constexpr std::pair<PermitKind, const char*> upward[] = {
      {PermitKind::commission, "commission"}, {PermitKind::raise, "raise"}, {PermitKind::top_up, "top-up"}};
  for (const auto& [kind, words] : upward)
    if (belongs_to(kind, stage.kind, state_of(state.run))) return std::string(": `permit ") + words + "`";
  return {};
}

}  // namespace

std::string_view proof_wants(Proof proof) {
  switch (proof) {
    case Proof::heartbeat: return "in a commission stage, `permit commission` on";
    case Proof::drop_by_command:
    case Proof::drop_by_heartbeat: return "in a snug stage, every load in its band, `permit raise` or `top-up` on";
    case Proof::drop_by_cable:
      return "in a snug stage, every load in its band, `permit raise` or `top-up` on; then somebody pulls the module's cable";
  }
  return "";
}

std::optional<Refusal> refusal_to_prove(const State& state, Proof proof) {
  if (!state.job) return Refusal{"no-plan", state.no_job};
  if (state.proofs.run.running) return Refusal{"proof-running", "another proof is running"};
  const Stage* stage = live_stage(state.run, state.job->plan);
  const StageKind wanted = proof == Proof::heartbeat ? StageKind::commission : StageKind::snug;
  if (!stage || stage->kind != wanted)
    return Refusal{"not-in-this-stage", proof == Proof::heartbeat ? "this proof belongs to a commission stage"
                                                                  : "this proof belongs to a snug stage"};
  if (proof != Proof::heartbeat && !state.run.in_band)
    return Refusal{"not-under-load", "the drop is proved under the snug load: not every load stands in its band"};
  if (!state.permit.given()) return Refusal{"no-permit", "the permit must be given first" + permit_to_ask_for(state, *stage)};
  if (!permit_is_on(state)) return Refusal{"no-permit", "the permit's contact must be seen on; look again"};
  if (proof == Proof::heartbeat) return std::nullopt;
  // What nobody can accept in the watch is not begun with.
  for (const Jack& jack : state.job->rig.jacks)
    for (const auto& channel : {std::optional{jack.advance}, jack.stroke_channel})
      if (channel && !counts(state, *channel))
        return Refusal{"reading-doubtful", state.job->rig.channels[channel->at()].name + ": " +
                                               std::string(entry_of(state.values.channels[channel->at()].reading.cause).text)};
  return std::nullopt;
}

void start_proof(State& state, Proof proof, const std::string& by, std::vector<EffectRow>& rows) {
  state.proofs.passed[static_cast<std::size_t>(proof)] = false;
  state.proofs.failures[static_cast<std::size_t>(proof)] = {};
  state.proofs.run = {.running = true, .proof = proof, .since = state.now, .by = by};
  note_loads(state);
  ++state.picture;
  if (proof == Proof::drop_by_command) end_permit(state, Cause::proof_running, by, rows);
}

void interrupt_proof(State& state, const std::string& why, std::vector<EffectRow>& rows) {
  if (state.proofs.run.running) finish(state, false, why, rows);
}

void settle_proof(State& state, std::vector<EffectRow>& rows) {
  if (!state.proofs.run.running || !state.job) return;
  ProofRun& run = state.proofs.run;
  if (!run.dropped) wait_for_drop(state, rows);
  if (run.running && run.dropped && !run.unstopped) ask_site_stop(state, rows);
  if (!run.running || !run.dropped) return;
  if (run.proof == Proof::heartbeat) {
    if (run.unstopped) finish(state, true, "permit seen to drop", rows);
    return;
  }
  const std::optional<ProofFailure> lost = loss(state);
  if (!lost) run.loss_since.reset();
  else if (!run.loss_since) run.loss_since = state.now;
  if (run.loss_since) {
    if (state.now - *run.loss_since >= loss_stands) fail_by_loss(state, *lost, rows);
    return;
  }
  const bool watched = state.now - run.since >= state.job->plan.proofs.watch;
  if (watched && run.unstopped) finish(state, true, watched_facts(state), rows);
}

std::optional<Instant> next_of_proof(const State& state) {
  const ProofRun& run = state.proofs.run;
  if (!run.running || !state.job) return std::nullopt;
  if (run.loss_since) return *run.loss_since + loss_stands;
  if (!run.dropped) return run.since + drop_within(run.proof);
  return run.since + (run.unstopped ? state.job->plan.proofs.watch : site_stop_read_within);
}

}  // namespace standfast
