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

}  // namespace

Progress progress_of(const State& state) {
  Progress progress;
  if (state.run.any) progress.stage = StageId{state.run.stage};
  progress.reached = state.run.reached_at;
  progress.oil_flows = input_on(state, InputMeaning::pump_running).value_or(state.permit.given());
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

bool site_stop_called(const State& state) { return input_on(state, InputMeaning::site_stop).value_or(false); }

}  // namespace standfast
