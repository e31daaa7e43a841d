#include "daemon/core/alarm_acts.hpp"

#include <algorithm>
#include <charconv>

#include "daemon/core/instruments.hpp"

namespace standfast {
namespace {

using Rows = std::vector<EffectRow>;
using Answer = std::optional<Refusal>;  // None: done.

Answer refused(std::string code, std::string text) { return Refusal{std::move(code), std::move(text)}; }

std::optional<std::size_t> alarm_place(const State& state, const std::string& number) {
  AlarmNumber wanted = 0;
  const auto [end, error] = std::from_chars(number.data(), number.data() + number.size(), wanted);
  if (error != std::errc{} || end != number.data() + number.size()) return std::nullopt;
  for (std::size_t i = 0; i < state.alarms.open.size(); ++i)
    if (state.alarms.open[i].number == wanted) return i;
  return std::nullopt;
}

bool stop_stands(const Alarms& alarms) {
  return std::any_of(alarms.open.begin(), alarms.open.end(), [](const Alarm& alarm) {
    return alarm.level == Level::stop && alarm.cause != Cause::called_stop;
  });
}

bool has_stepped_alone(const State& state, const Alarm& alarm) {
  if (alarm.channel < 0 || !condition_present(alarm.state)) return false;
  return state.values.channels[static_cast<std::size_t>(alarm.channel)].reading.cause == Cause::lone_step;
}

// The one condition that a person ends, who has looked: no number tells whether a gauge was knocked or its place moved. By
// name only; who resets all has not looked at this one.
Answer reset_step(State& state, std::size_t place, const Action& action, Rows& rows) {
  const Alarm alarm = state.alarms.open[place];
  if (alarm.state != AlarmState::acknowledged) return refused("not-acknowledged", alarm.subject + ": acknowledge it first");
  if (auto answer = without_authority(to_reset(alarm, false, stop_stands(state.alarms)), action)) return answer;
  take_step_as_true(state.values.channels[static_cast<std::size_t>(alarm.channel)]);
  rows.emplace_back(Notice{"step-taken-as-true", alarm.subject + " by " + action.person.name + ": " + action.reason});
  const bool is_latched = latches(alarm.level);
  happen(state.alarms, place, is_latched ? AlarmHappening::gone_latched : AlarmHappening::gone, action.person.name, state.now, rows);
  if (is_latched) happen(state.alarms, place, AlarmHappening::reset, action.person.name, state.now, rows);
  return std::nullopt;
}

Answer refusal_to_reset(const State& state, const Alarm& alarm, const Action& action) {
  if (has_stepped_alone(state, alarm))
    return refused("condition-present", alarm.subject + ": check it by hand, and set it back or reset it by its number");
  if (condition_present(alarm.state)) return refused("condition-present", alarm.subject + ": the condition is still there");
  if (alarm.state != AlarmState::latched_acknowledged)
    return refused("not-acknowledged", alarm.subject + ": acknowledge it first");
  Answer answer = without_authority(needed_to_reset(state, alarm), action);
  if (answer) answer->text = "alarm " + std::to_string(alarm.number) + ", " + alarm.subject + ", " + answer->text;
  return answer;
}

}  // namespace

Requirement needed_to_reset(const State& state, const Alarm& alarm) {
  const bool calm = alarm.channel >= 0 && is_calm_again(state, static_cast<std::size_t>(alarm.channel));
  return to_reset(alarm, calm, stop_stands(state.alarms));
}

Answer acknowledge(State& state, const Action& action, Rows& rows) {
  const bool all = action.object.empty() || action.object == "all";
  const auto one = all ? std::nullopt : alarm_place(state, action.object);
  if (!all && !one) return refused("unknown-alarm", "no open alarm " + action.object);
  for (std::size_t i = state.alarms.open.size(); i-- > 0;)
    if (all || i == *one) happen(state.alarms, i, AlarmHappening::acknowledged, action.person.name, state.now, rows);
  return std::nullopt;
}

Answer reset(State& state, const Action& action, Rows& rows) {
  if (action.reason.empty()) return refused("no-reason", "a reset needs a reason");
  const bool all = action.object.empty() || action.object == "all";
  const auto one = all ? std::nullopt : alarm_place(state, action.object);
  if (!all && !one) return refused("unknown-alarm", "no open alarm " + action.object);
  if (one && has_stepped_alone(state, state.alarms.open[*one])) return reset_step(state, *one, action, rows);
  const auto concerned = [&](std::size_t i) { return (all && latches(state.alarms.open[i].level)) || (one && i == *one); };
  for (std::size_t i = 0; i < state.alarms.open.size(); ++i)
    if (concerned(i))
      if (auto answer = refusal_to_reset(state, state.alarms.open[i], action)) return answer;
  for (std::size_t i = state.alarms.open.size(); i-- > 0;)
    if (concerned(i)) happen(state.alarms, i, AlarmHappening::reset, action.person.name, state.now, rows);
  return std::nullopt;
}

}  // namespace standfast
