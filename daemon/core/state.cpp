#include "daemon/core/state.hpp"

#include <algorithm>

namespace standfast {
namespace {

// On if any input of this meaning says so; none where no such input is known.
std::optional<bool> input_on(const State& state, InputMeaning meaning) {
  std::optional<bool> on;
  if (!state.job) return on;
  const auto& inputs = state.job->rig.inputs;
  for (std::size_t i = 0; i < inputs.size(); ++i)
    if (inputs[i].meaning == meaning && state.input_known[i])
      on = on.value_or(false) || state.inputs[i] != inputs[i].normally_closed;
  return on;
}

// By the pump's input. A rig without one goes by the permit; one whose input does not answer may be pumping.
bool oil_flows(const State& state) {
  if (const auto on = input_on(state, InputMeaning::pump_running)) return *on;
  const bool has_input = state.job && std::any_of(state.job->rig.inputs.begin(), state.job->rig.inputs.end(),
                                                  [](const Input& input) { return input.meaning == InputMeaning::pump_running; });
  return has_input || state.permit.given();
}

}  // namespace

Progress progress_of(const State& state) {
  Progress progress;
  if (state.run.any) progress.stage = StageId{state.run.stage};
  progress.reached = state.run.reached_at;
  progress.oil_flows = oil_flows(state);
  progress.pump_runs = input_on(state, InputMeaning::pump_running);
  progress.oil_may_leave = state.permit.downward();
  progress.baseline_is_taken = state.baseline_taking.has_value();
  return progress;
}

ValueContext context_of(const State& state, Take take) {
  return {*state.job, state.values, progress_of(state), state.now, take};
}

const Stage* stage_in_force(const State& state) {
  return state.job ? newest_stage(state.run, state.job->plan) : nullptr;
}

const Step* step_in_force(const State& state) {
  const Stage* stage = stage_in_force(state);
  if (!stage || stage->steps.empty()) return nullptr;
  return &stage->steps[std::min<std::size_t>(state.run.step, stage->steps.size() - 1)];
}

bool is_accepted(const State& state, const std::string& name, Cause doubt) {
  return std::any_of(state.accepted.begin(), state.accepted.end(),
                     [&](const Accepted& each) { return each.name == name && each.doubt == doubt; });
}

bool site_stop_called(const State& state) { return input_on(state, InputMeaning::site_stop).value_or(false); }

}  // namespace standfast
