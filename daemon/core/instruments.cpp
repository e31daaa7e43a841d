#include "daemon/core/instruments.hpp"

#include <algorithm>

#include "daemon/core/doubt.hpp"
#include "daemon/core/say.hpp"

namespace standfast {
namespace {

// What a doubt about a needed instrument calls for. A number that stands in doubt by itself is a HOLD; paper and position
// in the range are for review.
constexpr Level level_of_doubt(Cause cause) {
  switch (cause) {
    case Cause::frozen: case Cause::unit_frozen: case Cause::twins_disagree: case Cause::lone_step:
    case Cause::saturated_low: case Cause::saturated_high: case Cause::outside_range: case Cause::loop_over_range:
      return Level::hold;
    default: return Level::review;
  }
}

constexpr bool gravest_first() {
  for (int i = static_cast<int>(Cause::loop_over_range) + 1; i < doubt_count; ++i)
    if (level_of_doubt(static_cast<Cause>(i)) > level_of_doubt(static_cast<Cause>(i - 1))) return false;
  return true;
}
static_assert(gravest_first(), "a milder doubt declared first would hide a graver one of the same reading");

// The instrument says that its range is left, or stands where it was not. That is told of every instrument, needed or not:
// what it watches may be needed in an hour, nothing else tells it, and a step is to be taken as true by a person.
bool is_always_told(Cause cause) {
  switch (cause) {
    case Cause::outside_range: case Cause::saturated_low: case Cause::saturated_high: case Cause::loop_under_range:
    case Cause::loop_over_range: case Cause::loop_low: case Cause::loop_high: case Cause::lone_step:
      return true;
    default: return false;
  }
}

Instant never_read_until(const State& state, std::size_t channel) {
  return state.job_since + state.values.channels[channel].stale_after;
}

// A wire is given its time. A person is not: who needs a reading by hand enters it before it is needed.
bool is_waited_for(const State& state, std::size_t channel) {
  const bool never_read = state.values.channels[channel].reading.cause == Cause::never_read;
  return never_read && state.job->rig.channels[channel].bus && state.now < never_read_until(state, channel);
}

bool is_in_alarm(const State& state, std::size_t channel) {
  return std::any_of(state.alarms.open.begin(), state.alarms.open.end(),
                     [&](const Alarm& alarm) { return alarm.channel == static_cast<std::int32_t>(channel); });
}

// At most HOLD, unless the plan says of this stage that a bad reading behind a STOP is a STOP.
Level most_of(const State& state) {
  const Stage* stage = stage_in_force(state);
  return stage && stage->bad_reading_stops ? Level::stop : Level::hold;
}

// The point's gauges have come further apart than they may. Asked of the twins themselves: a point's value may bear a milder
// doubt that hides this one.
bool have_come_apart(const State& state, std::size_t point) {
  const Point& stated = state.job->rig.points[point];
  if (!stated.agree_within || stated.gauges.size() < 2) return false;
  return disagree(twins_apart(PointId{point}, context_of(state, Take::as_read)), *stated.agree_within);
}

bool is_of_doubted_point(const State& state, std::size_t channel) {
  const auto& points = state.job->rig.points;
  for (std::size_t p = 0; p < points.size(); ++p) {
    const auto& gauges = points[p].gauges;
    const bool is_of_it = std::any_of(gauges.begin(), gauges.end(), [&](ChannelId gauge) { return gauge.at() == channel; });
    if (is_of_it && have_come_apart(state, p)) return true;
  }
  return false;
}

// An overdue certificate says nothing against the number.
bool is_undoubted(const Reading& reading) {
  return reading.quality == Quality::good || reading.cause == Cause::certificate_overdue;
}

// What has left its place may have been knocked: that is judged only when all others have been heard.
bool is_believed(const ChannelState& channel) { return is_undoubted(channel.reading) && !channel.step.left; }

void note_where_it_stands(State& state, std::size_t place) {
  ChannelState& channel = state.values.channels[place];
  const Reading& reading = channel.reading;
  channel.stood = Stood{reading.value.si, reading.uncertainty, reading.newest};
  for (Partner& partner : channel.partners) {
    const ChannelState& twin = state.values.channels[partner.channel];
    partner.stood = !partner.is_pressure && is_believed(twin) ? std::optional{twin.reading.value.si} : std::nullopt;
  }
}

struct Of { std::string_view what; const std::string& name; };

// An answer, if not the one that was asked for: whoever gave it has power and a wire.
bool is_word_of_the_instrument(Flaw flaw) {
  return flaw == Flaw::exception_refused || flaw == Flaw::exception_failed || flaw == Flaw::exception_busy ||
         flaw == Flaw::wrong_instrument;
}

// Told needed or not, so that a wire that was never alive is known before the stage that needs it.
bool is_silent(const State& state, std::size_t bus) {
  bool any = false;
  for (const std::size_t c : state.attention.channels_on[bus]) {
    const ChannelState& channel = state.values.channels[c];
    if (channel.flaw == Flaw::none || is_word_of_the_instrument(channel.flaw)) return false;
    if (channel.reading.quality != Quality::bad || is_waited_for(state, c)) return false;
    any = true;
  }
  return any;
}

// What a person reads has no wire to see to.
std::string_view line_of(const State& state, std::int32_t channel, Cause cause, Level level) {
  const bool by_hand = channel >= 0 && !state.job->rig.channels[static_cast<std::size_t>(channel)].bus;
  const bool is_due = cause == Cause::never_read || cause == Cause::entry_overdue || cause == Cause::stale;
  if (!by_hand || !is_due || level > Level::hold) return line_for_cause(cause, level);
  return level == Level::hold ? "Stop pumping. Keep pressure. Read it by hand and enter it." : "Read it by hand and enter it.";
}

void add(const State& state, const Of& subject, const Reading& reading, Level needed, Level most, std::int32_t channel,
         std::vector<Condition>& conditions) {
  if (reading.quality == Quality::good) return;
  const Level wanted = reading.quality == Quality::bad ? most : level_of_doubt(reading.cause);
  const Level heeded = is_always_told(reading.cause) ? std::max(needed, Level::review) : needed;
  const Level level = std::min({wanted, heeded, most});
  if (level == Level::none) return;
  conditions.push_back({.subject = std::string(subject.what) + ' ' + subject.name, .cause = reading.cause, .level = level,
                        .say = std::string(line_of(state, channel, reading.cause, level)), .channel = channel});
}

// A good reading that is not noted yet, because of an alarm or of a place that was left, is asked about again.
void note_instrument(State& state, std::size_t channel) {
  InstrumentMemory& memory = state.instruments[channel];
  const Reading& reading = state.values.channels[channel].reading;
  const bool is_good = reading.quality == Quality::good;
  if (!is_good) memory.good_since.reset();
  else if (!memory.good_since) memory.good_since = reading.newest;
  const bool waits = is_good && (is_in_alarm(state, channel) || state.values.channels[channel].step.left);
  state.attention.unnoted.put(channel, waits);
  if (!is_good || waits) return;
  memory.before = reading.value.si;
  memory.before_sigma = reading.uncertainty;
}

}  // namespace

void note_instruments(State& state) {
  state.attention.unnoted.for_each([&](std::size_t channel) { note_instrument(state, channel); });
}

void note_where_they_stand(State& state, const Fresh& fresh) {
  fresh.for_each([&](std::size_t c) {
    if (is_believed(state.values.channels[c]) && !is_of_doubted_point(state, c)) note_where_it_stands(state, c);
  });
}

void add_instrument_conditions(const State& state, std::vector<Condition>& conditions) {
  const Rig& rig = state.job->rig;
  const Level most = most_of(state);
  state.attention.not_good.for_each([&](std::size_t c) {
    const Reading& reading = state.values.channels[c].reading;
    if (is_waited_for(state, c) || reading.cause == Cause::unit_frozen) return;  // The alarm of a frozen one is its unit's.
    add(state, {"instrument", rig.channels[c].name}, reading, state.in_force.needed[c], most,
        static_cast<std::int32_t>(c), conditions);
  });
  for (std::size_t p = 0; p < rig.points.size(); ++p) {
    if (!have_come_apart(state, p)) continue;
    const Reading doubt{.quality = Quality::uncertain, .cause = Cause::twins_disagree};
    add(state, {"gauges of", rig.points[p].name}, doubt, state.in_force.needed[rig.points[p].gauges[0].at()], most, -1, conditions);
  }
}

void add_unit_conditions(const State& state, std::vector<Condition>& conditions) {
  for (const FrozenUnit& unit : frozen_units(state.values.watches, *state.job)) {
    Level needed = Level::none;
    for (const ChannelId channel : unit.channels) needed = std::max(needed, state.in_force.needed[channel.at()]);
    const Level level = std::min(needed, Level::hold);
    if (level == Level::none) continue;
    conditions.push_back({.subject = unit.name, .cause = Cause::unit_frozen, .level = level, .say = {}});
  }
}

void add_bus_conditions(const State& state, std::vector<Condition>& conditions) {
  for (std::size_t b = 0; b < state.polls.buses.size(); ++b) {
    const std::string& name = state.job->rig.buses[b].name;
    const BusPolls& polls = state.polls.buses[b];
    if (polls_fail(polls))
      conditions.push_back({.subject = "bus " + name, .cause = Cause::polls_failing, .level = Level::review,
                            .say = "See to its wiring and instruments; or a longer timeout."});
    else if (polls_unsent(polls))
      conditions.push_back({.subject = "bus " + name, .cause = Cause::polls_unsent, .level = Level::review,
                            .say = "Longer poll periods, a faster line, or a shorter timeout."});
    if (is_silent(state, b))
      conditions.push_back({.subject = "all of bus " + name, .cause = Cause::bus_silent, .level = Level::review,
                            .say = "See to its cable, its converter and their power."});
  }
}

bool is_calm_again(const State& state, std::size_t channel) {
  const InstrumentMemory& memory = state.instruments[channel];
  const Reading& reading = state.values.channels[channel].reading;
  if (reading.quality != Quality::good || !memory.good_since || !memory.before) return false;
  if (state.now - *memory.good_since < calm_for) return false;
  const double moved = reading.value.si - *memory.before;
  const double allowed = calm_sigmas * std::max(memory.before_sigma, reading.uncertainty);
  const Dimension dimension = reading.value.dimension;
  return !exceeds({dimension, moved}, {dimension, allowed}) && !exceeds({dimension, -moved}, {dimension, allowed});
}

bool may_calm_again(const State& state, std::size_t channel) {
  return state.instruments[channel].before && !is_calm_again(state, channel);
}

std::optional<Instant> next_never_read(const State& state) {
  std::optional<Instant> next;
  state.attention.not_good.for_each([&](std::size_t c) {
    if (state.values.channels[c].reading.cause != Cause::never_read || !state.job->rig.channels[c].bus) return;
    const Instant at = never_read_until(state, c);
    if (at > state.now && (!next || at < *next)) next = at;
  });
  return next;
}

}  // namespace standfast
