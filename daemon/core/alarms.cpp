#include "daemon/core/alarms.hpp"

#include <algorithm>

#include "daemon/core/doubt.hpp"

namespace standfast {
namespace {

bool same(const Alarm& alarm, const Condition& condition) {
  return alarm.level == condition.level && alarm.subject == condition.subject;
}

AlarmChange change_of(const Alarm& alarm, AlarmState from, const std::string& by) {
  return {.number = alarm.number, .subject = alarm.subject, .cause = alarm.cause, .level = alarm.level, .from = from,
          .to = alarm.state, .first_out = alarm.first_out, .value = alarm.value, .bound = alarm.bound, .say = alarm.say,
          .by = by};
}

void take(Alarm& alarm, const Condition& condition, Instant now, WallTime wall) {
  alarm.cause = condition.cause;
  alarm.value = condition.value;
  alarm.bound = condition.bound;
  alarm.say = condition.say;
  alarm.channel = condition.channel;
  alarm.reset_by_engineer = condition.reset_by_engineer;
  alarm.gone_at.reset();
  alarm.raised_at = now;
  alarm.raised_wall = wall;
}

void change(Alarm& alarm, AlarmHappening happening, const std::string& by, Instant now, std::vector<EffectRow>& rows) {
  const AlarmState from = alarm.state;
  alarm.state = after(from, happening);
  if (alarm.state == from) return;
  if (happening == AlarmHappening::acknowledged) alarm.acknowledged_at = now;
  if (happening == AlarmHappening::gone || happening == AlarmHappening::gone_latched) alarm.gone_at = now;
  rows.emplace_back(change_of(alarm, from, by));
}

// Of the same thing, what was a doubt and is now silence is news. Of two silences the second is none: which flaw an instrument
// that does not answer shows changes from try to try.
// But that another instrument answers there sends the crew elsewhere.
bool is_news(const Alarm& alarm, const Condition& condition) {
  if (condition.cause == Cause::wrong_instrument) return alarm.cause != Cause::wrong_instrument;
  return leaves_a_number(alarm.cause) && leaves_no_number(condition.cause);
}

void tell_anew(Alarm& alarm, const Condition& condition, Instant now, WallTime wall, std::vector<EffectRow>& rows) {
  const AlarmState from = alarm.state;
  take(alarm, condition, now, wall);
  alarm.state = after(from, AlarmHappening::repeated);
  rows.emplace_back(change_of(alarm, from, {}));
}

void drop_normal(Alarms& alarms) {
  std::erase_if(alarms.open, [](const Alarm& alarm) { return alarm.state == AlarmState::normal; });
}

void raise(Alarms& alarms, const Condition& condition, Instant now, WallTime wall, std::vector<EffectRow>& rows) {
  const bool first_out = latches(condition.level) && !latches(signal_of(alarms));
  Alarm alarm{.number = ++alarms.last, .subject = condition.subject, .level = condition.level, .first_out = first_out};
  take(alarm, condition, now, wall);
  change(alarm, AlarmHappening::condition, {}, now, rows);
  alarms.open.push_back(std::move(alarm));
}

}  // namespace

void settle(Alarms& alarms, std::span<const Condition> present, Instant now, WallTime wall, std::vector<EffectRow>& rows) {
  for (Alarm& alarm : alarms.open) {
    const auto condition = std::find_if(present.begin(), present.end(), [&](const Condition& c) { return same(alarm, c); });
    if (condition == present.end()) {
      change(alarm, latches(alarm.level) ? AlarmHappening::gone_latched : AlarmHappening::gone, {}, now, rows);
    } else if (!condition_present(alarm.state)) {
      if (is_open(alarm.state)) take(alarm, *condition, now, wall);
      change(alarm, AlarmHappening::condition, {}, now, rows);
    } else if (is_news(alarm, *condition)) {
      tell_anew(alarm, *condition, now, wall, rows);
    }
  }
  for (const Condition& condition : present) {
    const bool known = std::any_of(alarms.open.begin(), alarms.open.end(), [&](const Alarm& a) { return same(a, condition); });
    if (!known) raise(alarms, condition, now, wall, rows);
  }
  drop_normal(alarms);
}

void happen(Alarms& alarms, std::size_t place, AlarmHappening happening, const std::string& by, Instant now,
            std::vector<EffectRow>& rows) {
  change(alarms.open[place], happening, by, now, rows);
  drop_normal(alarms);
}

Level signal_of(const Alarms& alarms) {
  Level worst = Level::none;
  for (const Alarm& alarm : alarms.open)
    if (is_open(alarm.state)) worst = std::max(worst, alarm.level);
  return worst;
}

namespace {

// What stands before what is over, then what nobody has looked at.
int urgency(const Alarm& alarm) { return 2 * condition_present(alarm.state) + is_unacknowledged(alarm.state); }

}  // namespace

const Alarm* leading(const Alarms& alarms) {
  const Level worst = signal_of(alarms);
  const Alarm* first = nullptr;
  for (const Alarm& alarm : alarms.open) {
    if (!is_open(alarm.state) || alarm.level != worst) continue;
    if (!first || urgency(alarm) > urgency(*first)) first = &alarm;
  }
  return first;
}

}  // namespace standfast
