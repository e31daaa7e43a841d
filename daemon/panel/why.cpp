#include "daemon/panel/why.hpp"

#include <algorithm>

#include "daemon/core/alarm_table.hpp"
#include "daemon/panel/shown_limits.hpp"

namespace standfast {
namespace {

// What happened once is told in the past anyway, and was over at once.
bool happens_once(Cause cause) {
  switch (cause) {
    case Cause::start_up: case Cause::giving_not_durable: case Cause::queue_overflow: case Cause::called_stop:
    case Cause::site_stop: case Cause::proof_failed: case Cause::engine_late: case Cause::plan_changed: case Cause::restarting:
      return true;
    default: return false;
  }
}

const BusPolls* polls_of(const State& state, const std::string& subject) {
  for (std::size_t b = 0; b < state.polls.buses.size(); ++b)
    if (subject == "bus " + state.job->rig.buses[b].name) return &state.polls.buses[b];
  return nullptr;
}

std::string counted(const Drawing& drawing, const Alarm& alarm) {
  const BusPolls* polls = drawing.job() ? polls_of(drawing.state, alarm.subject) : nullptr;
  if (!polls) return {};
  const PollCount sum = judged_polls(*polls);
  std::string text = std::to_string(sum.failed) + " of " + std::to_string(sum.asked()) + " failed";
  if (sum.unsent > 0) text += ", " + std::to_string(sum.unsent) + " were not sent";
  return text;
}

// The first word about the bus that an alarm is about as a whole.
std::string told_of_all(const Drawing& drawing, const std::string& subject) {
  const Job* job = drawing.job();
  for (std::size_t i = 0; job && i < drawing.state.polls.told.size(); ++i) {
    const std::string& told = drawing.state.polls.told[i];
    if (!told.empty() && subject == "all of bus " + job->rig.buses[job->polls.blocks[i].bus.at()].name) return told;
  }
  return {};
}

bool is_of_a_supply(const Drawing& drawing, const Alarm& alarm) {
  const Job* job = drawing.job();
  const Limit* limit = job ? limit_named(job->plan, alarm.subject) : nullptr;
  return limit && alarm.cause == Cause::limit && limit->of.kind == QuantityKind::supply && !limit->of.rate;
}

std::string beside(const Drawing& drawing, const Alarm& alarm) {
  if (alarm.cause == Cause::polls_failing || alarm.cause == Cause::polls_unsent) return counted(drawing, alarm);
  if (alarm.cause == Cause::limit) return alarm.value ? "" : "an instrument behind it is off its scale";
  if (alarm.channel >= 0) return told_of(drawing, static_cast<std::size_t>(alarm.channel));
  return told_of_all(drawing, alarm.subject);
}

}  // namespace

std::string told_of(const Drawing& drawing, std::size_t channel) {
  const Job* job = drawing.job();
  for (std::size_t i = 0; job && i < drawing.state.polls.told.size(); ++i) {
    const auto& places = job->polls.blocks[i].channels;
    if (std::any_of(places.begin(), places.end(), [&](const auto& place) { return place.channel.at() == channel; }))
      return drawing.state.polls.told[i];
  }
  return {};
}

std::string why_text(const Drawing& drawing, const Alarm& alarm) {
  const std::string text{entry_of(alarm.cause).text};
  // That the pump stands mends no hose.
  if (!condition_present(alarm.state) && is_of_a_supply(drawing, alarm)) return text + " while the pump ran";
  if (!condition_present(alarm.state)) return (happens_once(alarm.cause) ? "" : "no longer: ") + text;
  const std::string more = beside(drawing, alarm);
  return text + (more.empty() ? "" : ": " + more);
}

}  // namespace standfast
