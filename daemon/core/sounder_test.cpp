#include "daemon/core/sounder_test.hpp"

#include <algorithm>

#include "daemon/core/say.hpp"

namespace standfast {

bool has_sounder(const Rig& rig) {
  return rig.output_module && std::any_of(rig.output_module->outputs.begin(), rig.output_module->outputs.end(),
                                          [](const Output& output) { return output.kind == OutputKind::sounder; });
}

std::optional<Refusal> refusal_to_test_sounder(const State& state) {
  if (!state.job) return Refusal{"no-plan", state.no_job};
  if (!has_sounder(state.job->rig)) return Refusal{"no-sounder", "this rig has no sounder"};
  if (state.sound != Sound::silent) return Refusal{"sounding", "it sounds for an alarm already; acknowledge or silence that first"};
  return std::nullopt;
}

void start_sounder_test(State& state) {
  state.sounder_test.since = state.now;
  ++state.picture;
}

std::optional<Refusal> answer_sounder_test(State& state, const Action& action, std::vector<EffectRow>& rows) {
  SounderTest& test = state.sounder_test;
  if (!test.since) return Refusal{"no-proof", "the sounder has not been sounded for a test"};
  const bool heard = action.value == "heard";
  if (!heard && action.value != "not heard") return Refusal{"unreadable", "the answer is 'heard' or 'not heard'"};
  if (heard && state.now - *test.since < sounder_test_part * 2)
    return Refusal{"too-early", "listen to both patterns first: HOLD for three seconds, STOP for three"};
  test = {.since = {}, .heard = heard, .not_heard = !heard};
  rows.emplace_back(ProofResult{std::string(sounder_test_name), heard, action.value + " by " + action.person.name});
  ++state.picture;
  return std::nullopt;
}

Sound sound_of_test(const State& state) {
  if (!state.sounder_test.since) return Sound::silent;
  const Duration into = state.now - *state.sounder_test.since;
  if (into < sounder_test_part) return Sound::hold;
  return into < sounder_test_part * 2 ? Sound::stop : Sound::silent;
}

std::optional<Instant> next_of_sounder_test(const State& state) {
  if (!state.sounder_test.since) return std::nullopt;
  for (const Instant at : {*state.sounder_test.since + sounder_test_part, *state.sounder_test.since + sounder_test_part * 2})
    if (at > state.now) return at;
  return std::nullopt;
}

void add_sounder_condition(const State& state, std::vector<Condition>& conditions) {
  if (!state.sounder_test.not_heard) return;
  conditions.push_back({.subject = "sounder not heard", .cause = Cause::proof_failed, .level = Level::hold,
                        .say = std::string(line_for_cause(Cause::proof_failed, Level::hold))});
}

}  // namespace standfast
