#include "daemon/core/inputs.hpp"

#include <algorithm>

#include "daemon/core/outputs.hpp"
#include "daemon/core/say.hpp"

namespace standfast {
namespace {

constexpr int polls_until_stale = 3;
constexpr Duration stale_at_least = seconds(2);

// One that was never read is waited for from the start of the job.
Instant stale_at(const State& state, std::size_t input) {
  const Instant since = state.input_known[input] ? state.input_at[input] : state.job_since;
  return since + stale_after(state.job->rig.inputs[input]);
}

}  // namespace

Duration stale_after(const Input& input) { return std::max(input.every * polls_until_stale, stale_at_least); }

void take_inputs(State& state, const Block& block, const Scan& scan, Instant taken_at) {
  const auto* bits = std::get_if<Bits>(&scan.raw);
  if (scan.flaw != Flaw::none || !bits) return;
  for (const auto& place : block.inputs) {
    const std::size_t input = place.input.at();
    if (static_cast<std::size_t>(place.offset) >= bits->size()) continue;
    state.inputs[input] = (*bits)[static_cast<std::size_t>(place.offset)] != 0;
    state.input_known[input] = true;
    state.input_at[input] = taken_at;
  }
}

void forget_stale_inputs(State& state) {
  for (std::size_t i = 0; i < state.inputs.size(); ++i)
    if (state.input_known[i] && stale_at(state, i) <= state.now) state.input_known[i] = false;
}

std::optional<Instant> next_stale_input(const State& state) {
  std::optional<Instant> next;
  for (std::size_t i = 0; i < state.inputs.size(); ++i) {
    const Instant at = stale_at(state, i);
    if (at > state.now && (!next || at < *next)) next = at;
  }
  return next;
}

namespace {

// Most often the button hangs on the output module, and what is out of order is that module or its cable.
Condition not_known(const State& state, std::size_t place) {
  const Input& input = state.job->rig.inputs[place];
  const auto& module = state.job->rig.output_module;
  const bool on_module = module && module->bus == input.bus && module->unit_id == input.address.unit_id;
  const Cause by_time = state.input_at[place] > Instant{} ? Cause::stale : Cause::never_read;
  const Cause cause = on_module && is_silent(state.outputs, state.now) ? Cause::output_silent : by_time;
  const Level level = input.meaning == InputMeaning::site_stop ? Level::hold : Level::review;
  return {.subject = "input " + input.name, .cause = cause, .level = level,
          .say = std::string(line_for_cause(on_module ? Cause::output_silent : by_time, level))};
}

// Without the stop on site nobody raises. Any other is told for whoever goes by it, unless the module's own HOLD says it all.
void add_not_known(const State& state, std::size_t place, std::vector<Condition>& conditions) {
  if (stale_at(state, place) > state.now) return;
  Condition condition = not_known(state, place);
  if (condition.level < Level::hold && condition.cause == Cause::output_silent) return;
  conditions.push_back(std::move(condition));
}

}  // namespace

void add_input_conditions(const State& state, std::vector<Condition>& conditions) {
  const std::vector<Input>& inputs = state.job->rig.inputs;
  for (std::size_t i = 0; i < inputs.size(); ++i) {
    if (!state.input_known[i]) add_not_known(state, i, conditions);
    else if (inputs[i].meaning == InputMeaning::site_stop && state.inputs[i] != inputs[i].normally_closed)
      conditions.push_back({.subject = "site stop", .cause = Cause::site_stop, .level = Level::hold});
  }
}

}  // namespace standfast
