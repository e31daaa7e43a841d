#include "tests/support/invariants.hpp"

#include <algorithm>
#include <set>
#include <utility>

#include "daemon/core/state.hpp"
#include "tests/support/full_walk.hpp"

namespace standfast::test {
namespace {

bool permits_any(const OutputImage& image) { return image[OutputKind::raise_permit] || image[OutputKind::lower_permit]; }

constexpr OutputKind permissions[] = {OutputKind::raise_permit, OutputKind::lower_permit, OutputKind::stop_relay, OutputKind::call_out};

}  // namespace

void Invariants::require(bool holds_now, const char* what) {
  if (!holds_now && broken.empty()) broken = what;
}

void Invariants::check_outputs(const Engine& engine, const Effects& effects) {
  const State& state = engine.state();
  const OutputImage& wanted = effects.wanted;
  const bool recovering = state.permit.kind == PermitKind::recover;
  require(wanted == state.wanted, "what is wanted is what the state says");
  require(state.signal < Level::hold || recovering || !permits_any(wanted), "no permit at HOLD or above, recover excepted");
  require(!permits_any(wanted) || state.permit.given(), "an output permits only while a permit is given");
  require(!(wanted[OutputKind::raise_permit] && wanted[OutputKind::lower_permit]), "one direction at a time");
  require(!permits_any(wanted) || state.record == RecordState::healthy, "no permit while the record is not written");
  require(!permits_any(wanted) || (state.job && state.outputs.answered_once && !is_silent(state.outputs, state.now)),
          "no permit without a module that answers");
  require(wanted[OutputKind::stop_relay] == (state.signal < Level::stop || recovering), "the stop relay is off at STOP, recover excepted");
  require(!wanted[OutputKind::lower_permit] || state.permit.kind == PermitKind::lower || (recovering && !state.permit.recover.up),
          "the lower permit is on only with a permit to lower or to recover downwards");
  const Stage* stage = stage_in_force(state);
  const bool may_call = state.signal == Level::stop || (stage && stage->unattended && state.signal == Level::hold);
  require(wanted[OutputKind::call_out] || may_call, "call out is energised while nothing calls");
  require(!wanted[OutputKind::call_out] || state.signal < Level::stop, "STOP calls out");
  require(wanted[OutputKind::beacon] == (state.signal >= Level::hold), "the beacon is lit through HOLD and STOP");
  require(state.signal < Level::stop || !state.stop_sounds_until || effects.sound == Sound::stop, "a new STOP sounds, silenced or not");
}

void Invariants::check_alarms(const Engine& engine) {
  const State& state = engine.state();
  std::set<std::pair<std::string, Level>> open;
  Level worst = Level::none;
  int first = 0;
  for (const Alarm& alarm : state.alarms.open) {
    require(open.insert({alarm.subject, alarm.level}).second, "each alarm has one open episode");
    require(alarm.state != AlarmState::normal, "an alarm back to normal is no longer listed");
    require(alarm.number <= state.alarms.last, "a number is given once");
    if (is_open(alarm.state)) worst = std::max(worst, alarm.level);
    first += alarm.first_out && latches(alarm.level);
  }
  require(worst == state.signal, "the signal is the worst of the open alarms");
  require(state.job || state.signal >= Level::hold, "without a plan in force it is HOLD");
  require(first <= 1, "one alarm is the first out");
  require(state.held_since.has_value() == latches(state.signal), "how long it has been HOLD is known");
  require(state.momentary.empty(), "what was momentary has been told");
}

void Invariants::check_time(const Engine& engine, const Event& event, const Effects& effects) {
  const State& state = engine.state();
  if (going_on_) {
    require(state.now.ns >= last_now_, "the engine's time never goes back");
    require(state.picture >= last_picture_, "pictures count up");
    require(state.alarms.last >= last_alarm_, "alarm numbers count up");
  }
  going_on_ = true;
  last_now_ = state.now.ns;
  last_picture_ = state.picture;
  last_alarm_ = state.alarms.last;
  require(effects.instants.size() == effects.rows.size(), "every row has its instant");
  for (std::size_t i = 1; i < effects.instants.size(); ++i)
    require(effects.instants[i] >= effects.instants[i - 1], "rows stand in the order of time");
  if (!effects.instants.empty())
    require(effects.instants.back() <= std::max(event.at, state.now - state.shift),
            "no row is of a later instant than its event");
  require(!effects.next || *effects.next + state.shift > state.now, "what is due by now has been done");
}

void Invariants::check_rows(const Effects& effects) {
  bool gave = false;
  for (const EffectRow& row : effects.rows) {
    if (const auto* change = std::get_if<OutputChange>(&row)) {
      bool takes = false;
      for (const OutputKind kind : permissions) takes = takes || !change->wanted[kind];
      require(!gave || change->gives || !takes || change->heartbeat_withheld, "taking precedes giving");
      gave = gave || change->gives;
    }
    if (const auto* permit = std::get_if<PermitChange>(&row); permit && permit->given) {
      ++this->permits;
      recovers += permit->kind == PermitKind::recover;
    }
    if (const auto* signal = std::get_if<SignalChange>(&row)) {
      holds += signal->to == Level::hold;
      stops += signal->to == Level::stop;
    }
  }
}

// HOLD and STOP end by persons alone: two for a STOP, one of them the engineer unless it was only called. So it is over a
// restart, too.
void Invariants::check_latches(const Engine& engine, const Event& event, const Effects& effects) {
  const State& state = engine.state();
  const auto is_accepted = [](const EffectRow& row) {
    const auto* answer = std::get_if<ActionAnswer>(&row);
    return answer && answer->what == Act::reset && answer->accepted;
  };
  if (going_on_ && state.signal < last_signal_ && last_signal_ >= Level::hold) {
    const auto* reset = std::get_if<Action>(&event.what);
    const bool accepted = reset && reset->what == Act::reset && std::any_of(effects.rows.begin(), effects.rows.end(), is_accepted);
    require(accepted, "HOLD and STOP end by a reset alone");
    if (accepted && last_signal_ == Level::stop) {
      const PersonClaim &one = reset->person, &other = reset->second;
      require(!one.name.empty() && !other.name.empty() && one.name != other.name, "a STOP ends by two persons");
      require(!stop_is_the_engineers_ || one.role == Role::engineer || other.role == Role::engineer,
              "a STOP that nobody called ends by the engineer and a second person");
    }
  }
  last_signal_ = state.signal;
  stop_is_the_engineers_ = std::any_of(state.alarms.open.begin(), state.alarms.open.end(), [](const Alarm& alarm) {
    return is_open(alarm.state) && alarm.level == Level::stop && alarm.cause != Cause::called_stop;
  });
}

// While oil may be pumped by a plan's step, every jack's pressure is a number of now, and so is one gauge of each point that
// a limit in force watches.
void Invariants::check_needed(const Engine& engine) {
  const State& state = engine.state();
  const PermitKind kind = state.permit.kind;
  if (!state.job || (kind != PermitKind::raise && kind != PermitKind::top_up && kind != PermitKind::lower)) return;
  const auto counts = [&](ChannelId channel) {
    const Reading& reading = state.values.channels[channel.at()].reading;
    return reading.has_number() && state.now - reading.newest < state.values.channels[channel.at()].stale_after;
  };
  for (const Jack& jack : state.job->rig.jacks) require(counts(jack.advance), "no permit on a pressure that is bad, or of before");
  for (const Point& point : state.job->rig.points)
    require(std::any_of(point.gauges.begin(), point.gauges.end(), counts), "no permit on a point none of whose gauges has a number");
}

// An instrument that is being swapped has no value, and gets one by an engineer's word or by another job alone.
void Invariants::check_swaps(const Engine& engine, const Event& event) {
  const State& state = engine.state();
  std::vector<bool> unproved;
  for (std::size_t c = 0; c < state.values.channels.size(); ++c) {
    const ChannelState& channel = state.values.channels[c];
    unproved.push_back(channel.segment.unproved);
    require(!channel.segment.unproved || channel.reading.quality == Quality::bad, "an instrument that is being swapped has no value");
    require(channel.segment.unproved || !channel.segment.swap, "a swap under way is not approved");
    require(!channel.segment.join || state.job->rig.channels[c].dimension.base == Base::length, "lengths alone are joined");
  }
  const auto* action = std::get_if<Action>(&event.what);
  const bool may_approve = action && action->what == Act::swap_approve && action->person.role == Role::engineer;
  const bool another_job = std::holds_alternative<JobInForce>(event.what) || std::holds_alternative<NoJob>(event.what);
  if (going_on_ && !another_job && unproved.size() == unproved_.size())
    for (std::size_t c = 0; c < unproved.size(); ++c) {
      require(!unproved_[c] || unproved[c] || may_approve, "an engineer alone approves an instrument that was swapped in");
      swaps += unproved_[c] && !unproved[c];
    }
  unproved_ = std::move(unproved);
}

void Invariants::check(const Engine& engine, const Event& event, const Effects& effects) {
  ++events;
  check_outputs(engine, effects);
  check_alarms(engine);
  check_latches(engine, event, effects);
  check_needed(engine);
  check_swaps(engine, event);
  check_time(engine, event, effects);
  check_rows(effects);
  if (const std::string what = overlooked(engine.state()); !what.empty()) require(false, ("overlooked: " + what).c_str());
  if (!broken.empty()) broken += " (event " + std::to_string(event.what.index()) + " at " + std::to_string(event.at.ns) + " ns)";
}

}  // namespace standfast::test
