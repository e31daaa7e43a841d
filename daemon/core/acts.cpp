#include "daemon/core/acts.hpp"

#include <algorithm>
#include <functional>

#include "config/nearest_word.hpp"
#include "config/unit_text.hpp"
#include "daemon/core/act_kinds.hpp"
#include "daemon/core/alarm_acts.hpp"
#include "daemon/core/authority.hpp"
#include "daemon/core/by_hand.hpp"
#include "daemon/core/criteria.hpp"
#include "daemon/core/instruments.hpp"
#include "daemon/core/marks.hpp"
#include "daemon/core/notes.hpp"
#include "daemon/core/permits.hpp"
#include "daemon/core/progress.hpp"
#include "daemon/core/proofs.hpp"
#include "daemon/core/say.hpp"
#include "daemon/core/sounder_test.hpp"
#include "daemon/core/sounding.hpp"
#include "daemon/core/swaps.hpp"
#include "daemon/core/zeros.hpp"

namespace standfast {
namespace {

using Rows = std::vector<EffectRow>;
using Answer = std::optional<Refusal>;  // None: done.

Answer refused(std::string code, std::string text) { return Refusal{std::move(code), std::move(text)}; }

Answer unknown_stage(const std::vector<Stage>& stages, const std::string& name) {
  std::vector<std::string_view> names;
  for (const Stage& stage : stages) names.push_back(stage.name);
  const std::string near{nearest_word(name, names)};
  return refused("unknown-stage", "no stage '" + name + "' in the plan" + (near.empty() ? "" : "; did you mean '" + near + "'?"));
}

// An act that loosens is judged on what the person saw.
Answer old_picture(const State& state, const Action& action) {
  if (!loosens(action.what, action.object)) return std::nullopt;
  if (action.seen == state.picture) return std::nullopt;
  return refused("picture-changed", "what you saw has changed; look again");
}

Answer call_stop(State& state, const Action& action, Rows& rows) {
  state.momentary.push_back({.subject = action.reason.empty() ? "stop called" : "stop called: " + action.reason,
                             .cause = Cause::called_stop, .level = Level::stop,
                             .say = std::string(line_for_cause(Cause::called_stop, Level::stop))});
  end_permit(state, Cause::called_stop, action.person.name, rows);
  return std::nullopt;
}

Answer silence_for(State& state, const Action& action, Rows&) {
  Duration wanted = silence_at_most;
  if (!action.value.empty()) {
    const auto parsed = parse_duration(action.value);
    if (!parsed) return refused("unreadable", parsed.error().message + "; a number and its unit, as in '60 s'");
    wanted = std::min(*parsed, silence_at_most);
  }
  silence(state, wanted);
  return std::nullopt;
}

Answer give_permit(State& state, const Action& action, Rows& rows) {
  const auto kind = permit_kind(action.object);
  if (!kind) return refused("unknown-permit", "no permit is called '" + action.object + "'");
  Requirement requirement = to_permit(*kind);
  if (*kind == PermitKind::recover && state.signal == Level::stop) requirement.least = Role::engineer;
  if (const Stage* stage = stage_in_force(state); stage && stage->permit_by && *kind != PermitKind::commission)
    requirement.least = std::max(requirement.least, *stage->permit_by);
  if (auto answer = without_authority(requirement, action)) return answer;
  if (auto refusal = refusal_to_permit(state, *kind)) return refusal;
  auto permit = permit_from(state, *kind, action);
  if (!permit) return permit.error();
  if (*kind == PermitKind::recover) interrupt_proof(state, "interrupted: a recover permit was given", rows);
  give(state, std::move(*permit), rows);
  return std::nullopt;
}

Answer enter(State& state, const Action& action, Rows& rows) {
  if (!state.job) return refused("no-plan", state.no_job);
  const auto& stages = state.job->plan.stages;
  const auto stage = std::find_if(stages.begin(), stages.end(), [&](const Stage& s) { return s.name == action.object; });
  if (stage == stages.end()) return unknown_stage(stages, action.object);
  const auto place = static_cast<std::size_t>(stage - stages.begin());
  if (live_stage(state.run, state.job->plan)) return refused("stage-running", "the stage now running must be closed or abandoned first");
  if (!is_in_this_version(stage->kind)) return refused("not-in-this-version", "stages of this kind are not in this version");
  for (std::size_t i = 0; i < place; ++i)
    if (state.run.states[i] != StageState::closed && state.run.states[i] != StageState::skipped)
      return refused("earlier-stage-open", "stage '" + stages[i].name + "' is neither closed nor skipped");
  if (auto answer = without_authority(to_act(action.what), action)) return answer;
  if (auto missing = missing_mark(state, place)) return missing;
  enter_stage(state, place, action.person, rows);
  return std::nullopt;
}

std::string why_not_proposed(const State& state) {
  if (!live_stage(state.run, state.job->plan)) return "no stage is running";
  if (state_of(state.run) == StageState::awaiting_approval) return "it has been proposed already and awaits approval";
  const std::vector<CriterionSeen> criteria = criteria_of(state);
  std::vector<CriterionSeen> missing_first;
  for (const bool met : {false, true})
    for (const CriterionSeen& each : criteria)
      if (each.met == met) missing_first.push_back(each);
  return facts_text(missing_first);
}

Answer propose(State& state, const Action& action, Rows& rows) {
  if (!state.job || state_of(state.run) != StageState::criteria_met)
    return refused("criteria-not-met", state.job ? why_not_proposed(state) : state.no_job);
  if (auto answer = without_authority(to_act(action.what), action)) return answer;
  happen(state, StageHappening::proposed, action.person, action.second, facts_text(criteria_of(state)), rows);
  return std::nullopt;
}

// The roles of the plan's list that nobody has signed for yet, the highest first.
std::vector<Role> open_signatures(const State& state) {
  std::vector<Role> open = stage_in_force(state)->sign_off;
  if (open.empty()) open.push_back(Role::supervisor);
  for (const Approval& approval : state.run.approvals) {
    const auto signed_role = std::find(open.begin(), open.end(), approval.role);
    if (signed_role != open.end()) open.erase(signed_role);
  }
  std::sort(open.begin(), open.end(), std::greater<>());
  return open;
}

// The highest that this person may sign for: an engineer must not use up the supervisor's line while his own is open.
std::optional<Role> open_signature(const std::vector<Role>& open, const Action& action) {
  for (const Role role : open)
    if (!missing({.least = role}, action)) return role;
  return std::nullopt;
}

Answer not_to_sign(const std::vector<Role>& open) {
  std::string text = "this person may not sign for what is still open:";
  for (const Role role : open) text += (role == open.front() ? " " : ", ") + std::string(role_name(role));
  return refused("not-permitted", text);
}

Answer approve(State& state, const Action& action, Rows& rows) {
  if (!state.job || state_of(state.run) != StageState::awaiting_approval)
    return refused("not-proposed", "nothing has been proposed for approval");
  const auto& approvals = state.run.approvals;
  if (std::any_of(approvals.begin(), approvals.end(), [&](const Approval& a) { return a.name == action.person.name; }))
    return refused("signed-already", "the signatures must be of different persons");
  const std::vector<Role> open = open_signatures(state);
  const auto role = open_signature(open, action);
  if (!role) return not_to_sign(open);
  state.run.approvals.push_back({action.person.name, *role});
  ++state.picture;
  const std::size_t wanted = std::max<std::size_t>(1, stage_in_force(state)->sign_off.size());
  if (state.run.approvals.size() >= wanted) go_on(state, action.person, rows);
  return std::nullopt;
}

Answer abandon(State& state, const Action& action, Rows& rows) {
  if (!state.job || !live_stage(state.run, state.job->plan)) return refused("no-stage", "no stage is running");
  if (action.reason.empty()) return refused("no-reason", "abandoning a stage needs a reason");
  if (auto answer = without_authority(to_act(action.what), action)) return answer;
  end_permit(state, Cause::stage_changed, action.person.name, rows);
  forget_what_is_being_taken(state);
  happen(state, StageHappening::abandoned, action.person, action.second, action.reason, rows);
  return std::nullopt;
}

Answer skip(State& state, const Action& action, Rows& rows) {
  if (!state.job) return refused("no-plan", state.no_job);
  if (action.reason.empty()) return refused("no-reason", "skipping a stage needs a reason");
  if (auto answer = without_authority(to_act(action.what), action)) return answer;
  const auto& stages = state.job->plan.stages;
  const auto stage = std::find_if(stages.begin(), stages.end(), [&](const Stage& s) { return s.name == action.object; });
  if (stage == stages.end()) return unknown_stage(stages, action.object);
  StageState& now_in = state.run.states[static_cast<std::size_t>(stage - stages.begin())];
  const StageState from = now_in;
  now_in = after(from, StageHappening::skipped);
  if (now_in == from) return refused("not-planned", "only a stage that has not been entered can be skipped");
  ++state.picture;
  rows.emplace_back(StageChange{stage->name, {}, from, now_in, action.person.name, action.second.name, action.reason});
  return std::nullopt;
}

// What an engineer may accept by name: a channel, or the value of a limit whose parts are good and do not fit together.
std::optional<Reading> doubtful(const State& state, const std::string& name) {
  const auto& channels = state.job->rig.channels;
  for (std::size_t c = 0; c < channels.size(); ++c)
    if (channels[c].name == name) return state.values.channels[c].reading;
  for (const LimitMemory& memory : state.limits)
    if (memory.name == name) return memory.last.high;
  return std::nullopt;
}

Answer accept_uncertain(State& state, const Action& action, Rows& rows) {
  if (!state.job) return refused("no-plan", state.no_job);
  if (action.reason.empty()) return refused("no-reason", "accepting a doubtful reading needs a reason");
  if (auto answer = without_authority(to_act(action.what), action)) return answer;
  const auto reading = doubtful(state, action.object);
  if (!reading) return refused("unknown-channel", "no channel and no limit now in force is called '" + action.object + "'");
  if (reading->quality != Quality::uncertain) return refused("not-uncertain", "only an uncertain reading can be accepted");
  if (reading->cause == Cause::entry_overdue)
    return refused("entry-overdue", "what is overdue is read and entered again, not accepted");
  state.accepted.push_back({action.object, reading->cause});
  ++state.picture;
  rows.emplace_back(Notice{"accepted-uncertain", action.object + ": " + std::string(entry_of(reading->cause).text)});
  return std::nullopt;
}

Answer test_sounder(State& state, const Action& action) {
  if (auto answer = without_authority(to_act(action.what), action)) return answer;
  if (auto refusal = refusal_to_test_sounder(state)) return refusal;
  start_sounder_test(state);
  return std::nullopt;
}

// Only what a person must say ends a proof by an act; the others end by what is read.
Answer end_proof(State& state, const Action& action, Rows& rows) {
  if (action.object != sounder_test_name) return refused("unknown-proof", "this proof ends by itself; only the sounder is answered");
  if (auto answer = without_authority(to_act(action.what), action)) return answer;
  return answer_sounder_test(state, action, rows);
}

Answer prove(State& state, const Action& action, Rows& rows) {
  if (action.object == sounder_test_name) return test_sounder(state, action);
  const auto proof = proof_of(action.object);
  if (!proof) return refused("unknown-proof", "no proof is called '" + action.object + "'");
  if (auto answer = without_authority(to_act(action.what), action)) return answer;
  if (auto refusal = refusal_to_prove(state, *proof)) return refusal;
  start_proof(state, *proof, action.person.name, rows);
  return std::nullopt;
}

// It overtakes what waits. Whoever asked for a permit before it and is heard behind it did not see it: he looks again.
Answer end_by_person(State& state, const Action& action, Rows& rows) {
  ++state.picture;
  end_permit(state, Cause::by_person, action.person.name, rows);
  return std::nullopt;
}

// The permit is the word of those who gave it. Who ends a shift without a name may have been one of them.
Answer end_shift(State& state, const Action& action, Rows& rows) {
  const std::string& name = action.person.name;
  if (name.empty() || name == state.permit.by || name == state.permit.second)
    end_permit(state, Cause::shift_ended, name, rows);
  return std::nullopt;
}

Answer offer(State& state, const Action& action) {
  if (auto answer = without_authority(to_act(action.what), action)) return answer;
  if (state.offered == action.value) return std::nullopt;
  state.offered = action.value;
  ++state.picture;
  return std::nullopt;
}

// The bytes are the service's: it loads them, and brings the job into force as the next event. What is in force is what
// stands in the record, so a record that is not being written takes no plan.
Answer adopt(const State& state, const Action& action) {
  if (action.value != state.offered)
    return refused("not-offered", state.offered.empty() ? "no revision has been offered; `offer` comes first"
                                                        : "revision " + state.offered + " is offered, not '" + action.value +
                                                              "'; where the files changed since the offer, offer them first");
  if (state.record != RecordState::healthy)
    return refused("record-unhealthy", "the record is not being written: no files can come into force");
  return without_authority(to_act(action.what), action);
}

using InstrumentAct = std::optional<Refusal> (*)(State&, const Action&, Rows&);
Answer see_to(State& state, const Action& action, InstrumentAct do_it, Rows& rows) {
  if (auto answer = without_authority(to_act(action.what), action)) return answer;
  return do_it(state, action, rows);
}

Answer answer_to(State& state, const Action& action, Rows& rows) {
  switch (action.what) {
    case Act::stop: return call_stop(state, action, rows);
    case Act::acknowledge: return acknowledge(state, action, rows);
    case Act::silence: return silence_for(state, action, rows);
    case Act::reset: return reset(state, action, rows);
    case Act::permit_give: return give_permit(state, action, rows);
    case Act::permit_end: return end_by_person(state, action, rows);
    case Act::shift_end: return end_shift(state, action, rows);
    case Act::stage_enter: return enter(state, action, rows);
    case Act::stage_propose: return propose(state, action, rows);
    case Act::stage_approve: return approve(state, action, rows);
    case Act::stage_abandon: return abandon(state, action, rows);
    case Act::stage_skip: return skip(state, action, rows);
    case Act::accept_uncertain: return accept_uncertain(state, action, rows);
    case Act::prove_start: return prove(state, action, rows);
    case Act::enter_note: return enter_note(state, action);
    case Act::offer: return offer(state, action);
    case Act::adopt: return adopt(state, action);
    case Act::enter_reading: return enter_by_hand(state, action);
    case Act::zero_propose: return see_to(state, action, propose_zero, rows);
    case Act::zero_approve: return see_to(state, action, approve_zero, rows);
    case Act::swap_begin: case Act::swap_prove: case Act::swap_approve: case Act::swap_abandon:
      return see_to(state, action, swap, rows);
    case Act::prove_end: return end_proof(state, action, rows);
  }
  return refused("not-in-this-version", "not in this version");
}

// What a person is told behind an act that was done.
std::string words_behind(const State& state, const Action& action) {
  switch (action.what) {
    case Act::permit_give: return words_with_permit(state);
    case Act::swap_begin: case Act::swap_prove: case Act::swap_approve: case Act::swap_abandon: return words_with_swap(state, action);
    default: return {};
  }
}

}  // namespace

void act(State& state, const Action& action, Rows& rows) {
  Answer answer = old_picture(state, action);
  if (!answer) answer = answer_to(state, action, rows);
  if (answer) return void(rows.emplace_back(ActionAnswer{action.what, false, answer->code, answer->text}));
  rows.emplace_back(ActionAnswer{action.what, true, "done", words_behind(state, action)});
}

}  // namespace standfast
