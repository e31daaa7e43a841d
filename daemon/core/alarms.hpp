// The alarms that are open, and what makes them. Limits, instruments and the system itself each state their conditions
// anew at every evaluation; this file alone turns conditions into episodes with numbers, latches and a first-out.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "daemon/core/alarm_table.hpp"
#include "daemon/core/effect.hpp"

namespace standfast {

// Something is not as it should be, now.
struct Condition {
  std::string subject;  // With the level it names the alarm: the limit's name, `instrument P1`, `record`.
  Cause cause{};
  Level level{};
  std::optional<Amount> value, bound;
  std::string say;
  std::int32_t channel{-1};        // Of an instrument's alarm.
  bool reset_by_engineer{false};
};

struct Alarm {
  AlarmNumber number{0};
  std::string subject;
  Cause cause{};
  Level level{};
  AlarmState state{AlarmState::normal};
  bool first_out{false};
  Instant raised_at{};
  WallTime raised_wall{};
  std::optional<Instant> acknowledged_at;
  std::optional<Instant> gone_at;      // Since when its condition is over; none while it is present.
  std::optional<Amount> value, bound;  // At the trip.
  std::string say;
  std::int32_t channel{-1};
  bool reset_by_engineer{false};

  template <class A>
  void visit(A& a) {
    a("number", number);
    a("subject", subject);
    a("cause", cause);
    a("level", level);
    a("state", state);
    a("first_out", first_out);
    a("raised_at", raised_at);
    a("raised_wall", raised_wall);
    a("acknowledged_at", acknowledged_at);
    a("gone_at", gone_at);
    a("value", value);
    a("bound", bound);
    a("say", say);
    a("channel", channel);
    a("reset_by_engineer", reset_by_engineer);
  }
};

struct Alarms {
  std::vector<Alarm> open;  // Oldest first; an alarm back to normal is no longer here.
  AlarmNumber last{0};

  template <class A>
  void visit(A& a) {
    a("open", open);
    a("last", last);
  }
};

// Brings the open alarms into line with what is present now. Writes a row for every change.
void settle(Alarms& alarms, std::span<const Condition> present, Instant now, WallTime wall, std::vector<EffectRow>& rows);

// One happening to one alarm, by a person or by time.
void happen(Alarms& alarms, std::size_t place, AlarmHappening happening, const std::string& by, Instant now,
            std::vector<EffectRow>& rows);

// The worst level active or latched; `none` is "within limits".
Level signal_of(const Alarms& alarms);

// The alarm to be told first: of the worst level, one that stands before one that is over, then one that nobody has acknowledged;
// of those the oldest, as what came first is most often the cause of the rest. None while within limits.
const Alarm* leading(const Alarms& alarms);

}  // namespace standfast
