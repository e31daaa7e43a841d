#include "daemon/core/sounding.hpp"

#include <algorithm>

#include "daemon/core/sounder_test.hpp"

namespace standfast {
namespace {

bool unseen(AlarmState state) {
  return state == AlarmState::unacknowledged || state == AlarmState::latched_unacknowledged;
}

bool unseen_at(const State& state, Level level) {
  return std::any_of(state.alarms.open.begin(), state.alarms.open.end(),
                     [&](const Alarm& alarm) { return alarm.level == level && unseen(alarm.state); });
}

std::optional<Instant> repeats_at(const Alarm& alarm) {
  if (alarm.level != Level::stop || alarm.state != AlarmState::acknowledged || !alarm.acknowledged_at) return std::nullopt;
  return *alarm.acknowledged_at + repeats_after;
}

void repeat_unresolved(State& state, std::vector<EffectRow>& rows) {
  for (std::size_t i = state.alarms.open.size(); i-- > 0;) {
    const auto at = repeats_at(state.alarms.open[i]);
    if (at && *at <= state.now) happen(state.alarms, i, AlarmHappening::repeated, {}, state.now, rows);
  }
}

Sound sound_of(const State& state) {
  const bool must = state.stop_sounds_until && state.now < *state.stop_sounds_until;
  if (must) return Sound::stop;
  if (state.silenced_until) return sound_of_test(state);
  if (unseen_at(state, Level::stop)) return Sound::stop;
  return unseen_at(state, Level::hold) ? Sound::hold : sound_of_test(state);
}

}  // namespace

void silence(State& state, Duration how_long) { state.silenced_until = state.now + how_long; }

void settle_sound(State& state, std::size_t news, std::vector<EffectRow>& rows) {
  repeat_unresolved(state, rows);
  for (std::size_t i = news; i < rows.size(); ++i) {
    const auto* change = std::get_if<AlarmChange>(&rows[i]);
    if (!change || change->to != AlarmState::unacknowledged) continue;
    state.silenced_until.reset();
    const bool has_tripped = change->from != AlarmState::acknowledged;  // What is told again, somebody has seen.
    if (change->level == Level::stop && has_tripped) state.stop_sounds_until = state.now + stop_sounds_at_least;
  }
  if (state.silenced_until && *state.silenced_until <= state.now) state.silenced_until.reset();
  if (state.stop_sounds_until && *state.stop_sounds_until <= state.now) state.stop_sounds_until.reset();
  state.sound = sound_of(state);
}

std::optional<Instant> next_of_sound(const State& state) {
  std::optional<Instant> next;
  const auto consider = [&](std::optional<Instant> at) {
    if (at && (!next || *at < *next)) next = at;
  };
  consider(next_of_sounder_test(state));
  consider(state.silenced_until);
  consider(state.stop_sounds_until);
  for (const Alarm& alarm : state.alarms.open) consider(repeats_at(alarm));
  return next;
}

}  // namespace standfast
