#include "daemon/core/latched.hpp"

#include <algorithm>

#include "daemon/core/engine.hpp"
#include "daemon/core/say.hpp"
#include "daemon/core/state.hpp"

namespace standfast {
namespace {

bool knows(const Alarms& alarms, const AlarmChange& latched) {
  return std::any_of(alarms.open.begin(), alarms.open.end(), [&](const Alarm& alarm) {
    return is_open(alarm.state) && alarm.level == latched.level && alarm.subject == latched.subject;
  });
}

bool number_taken(const Alarms& alarms, AlarmNumber number) {
  return number == 0 ||
         std::any_of(alarms.open.begin(), alarms.open.end(), [&](const Alarm& alarm) { return alarm.number == number; });
}

// Which channel it was and who may end it stands in no row: no channel, and the engineer.
Alarm brought_back(const LatchedAlarm& latched, Instant now) {
  const AlarmChange& change = latched.newest;
  return {.number = change.number, .subject = change.subject, .cause = change.cause, .level = change.level,
          .state = change.to, .first_out = change.first_out, .raised_at = now, .raised_wall = latched.wall,
          .acknowledged_at = {}, .value = change.value, .bound = change.bound, .say = change.say, .channel = -1,
          .reset_by_engineer = true};
}

AlarmChange row_of(const Alarm& alarm) {
  return {.number = alarm.number, .subject = alarm.subject, .cause = alarm.cause, .level = alarm.level,
          .from = AlarmState::normal, .to = alarm.state, .first_out = alarm.first_out, .value = alarm.value,
          .bound = alarm.bound, .say = alarm.say, .by = {}};
}

}  // namespace

LatchedAlarms latched_unknown(const std::string& why) {
  AlarmChange unknown;
  unknown.subject = "what was latched before is not known: " + why;
  unknown.cause = Cause::record_unhealthy;
  unknown.level = Level::hold;
  unknown.to = AlarmState::unacknowledged;
  unknown.say = std::string(line_for_cause(Cause::record_unhealthy, Level::hold));
  return {{{std::move(unknown), {}}}, 0};
}

std::vector<EffectRow> Engine::bring_back(const LatchedAlarms& latched) {
  Alarms& alarms = state_->alarms;
  alarms.last = std::max(alarms.last, latched.last);
  std::vector<Alarm> missing;
  for (const LatchedAlarm& each : latched.alarms) {
    if (knows(alarms, each.newest)) continue;
    missing.push_back(brought_back(each, state_->now));
    if (number_taken(alarms, missing.back().number)) missing.back().number = ++alarms.last;
  }
  std::vector<EffectRow> rows;
  for (const Alarm& alarm : missing) rows.emplace_back(row_of(alarm));
  if (missing.empty()) return rows;
  alarms.open.insert(alarms.open.begin(), missing.begin(), missing.end());
  ++state_->picture;
  return rows;
}

void Engine::leave_pictures_behind(std::int64_t rows) { state_->picture += 10 * rows; }

}  // namespace standfast
