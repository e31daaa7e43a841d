#include "tools/rehearse/expecting.hpp"

#include <algorithm>

namespace standfast::rehearse {
namespace {

std::string level_text(Level level) {
  switch (level) {
    case Level::none: return "within limits";
    case Level::review: return "REVIEW";
    case Level::hold: return "HOLD";
    case Level::stop: return "STOP";
  }
  return {};
}

std::string state_text(StageState state) {
  static constexpr const char* words[] = {"planned", "running", "observation", "criteria met", "awaiting approval",
                                          "approved", "closed", "abandoned", "skipped"};
  return words[static_cast<std::size_t>(state)];
}

std::string output_text(OutputKind kind) {
  static constexpr const char* words[] = {"raise_permit", "lower_permit", "stop_relay", "sounder", "beacon", "call_out", "heartbeat"};
  return words[static_cast<std::size_t>(kind)];
}

std::string listed(const std::vector<std::string>& items) {
  std::string text = "[";
  for (const std::string& item : items) text += (text.size() > 1 ? ", " : "") + item;
  return text + "]";
}

std::string stage_now(const State& state) {
  const Stage* stage = stage_in_force(state);
  return stage ? stage->name : std::string("none");
}

std::string first_out_now(const State& state) {
  for (const Alarm& alarm : state.alarms.open)
    if (alarm.first_out) return alarm.subject;
  return "none";
}

std::vector<std::string> alarms_now(const State& state) {
  std::vector<std::string> subjects;
  for (const Alarm& alarm : state.alarms.open) subjects.push_back(alarm.subject);
  return subjects;
}

std::vector<std::string> energised(const std::vector<OutputKind>& kinds) {
  std::vector<std::string> words;
  for (const OutputKind kind : {OutputKind::raise_permit, OutputKind::lower_permit, OutputKind::stop_relay})
    if (std::find(kinds.begin(), kinds.end(), kind) != kinds.end()) words.push_back(output_text(kind));
  return words;
}

std::vector<OutputKind> wanted_now(const OutputImage& wanted) {
  std::vector<OutputKind> kinds;
  for (const OutputKind kind : {OutputKind::raise_permit, OutputKind::lower_permit, OutputKind::stop_relay})
    if (wanted[kind]) kinds.push_back(kind);
  return kinds;
}

}  // namespace

Expecting::Expecting(const Prepared::Part& part, const State& state, Outcome& outcome)
    : part_{part},
      state_{state},
      outcome_{outcome},
      done_(part.rehearsal.expect.size(), false),
      failed_(part.rehearsal.expect.size(), false) {}

void Expecting::fail(const Expectation& expectation, Duration at, std::string what) {
  outcome_.failing.push_back({part_.file, expectation.place, at, std::move(what)});
}

void Expecting::compare(const Expectation& expectation, Duration at, const std::string& what,
                        const std::string& expected, const std::string& was) {
  if (expected != was) fail(expectation, at, what + ": expected " + expected + ", was " + was);
}

void Expecting::check(std::size_t place, const Effects& effects, Duration at) {
  const Expectation& e = part_.rehearsal.expect[place];
  const std::size_t before = outcome_.failing.size();
  if (e.signal) compare(e, at, "signal", level_text(*e.signal), level_text(state_.signal));
  if (e.permit) compare(e, at, "permit", std::string(permit_name(*e.permit)), std::string(permit_name(state_.permit.kind)));
  if (e.stage) compare(e, at, "stage", *e.stage, stage_now(state_));
  if (e.state) compare(e, at, "state", state_text(*e.state), state_text(state_of(state_.run)));
  if (e.first_out) compare(e, at, "first-out", *e.first_out, first_out_now(state_));
  if (e.alarms) compare(e, at, "alarms", listed(*e.alarms), listed(alarms_now(state_)));
  if (e.energised) compare(e, at, "energised", listed(energised(*e.energised)), listed(energised(wanted_now(effects.wanted))));
  failed_[place] = outcome_.failing.size() != before;
}

void Expecting::before(Duration until, const Effects& effects) {
  for (std::size_t i = 0; i < done_.size(); ++i) {
    const Expectation& e = part_.rehearsal.expect[i];
    if (done_[i] || e.at >= until) continue;
    if (!failed_[i]) check(i, effects, e.at);
    const bool over = !e.until || *e.until <= until;
    if (failed_[i] || over) {
      done_[i] = true;
      ++outcome_.checks;
    }
  }
}

void Expecting::answered(const PlannedAct& act, const Effects& effects) {
  ++outcome_.checks;
  std::string was = "none";
  for (const EffectRow& row : effects.rows)
    if (const auto* answer = std::get_if<ActionAnswer>(&row)) {
      if (answer->code == act.expected) return;
      was = answer->code + (answer->text.empty() ? "" : " (" + answer->text + ")");
    }
  outcome_.failing.push_back({part_.file, act.place, act.at, "answer: expected " + act.expected + ", was " + was});
}

void Expecting::ended() {
  for (std::size_t i = 0; i < done_.size(); ++i)
    if (!done_[i]) fail(part_.rehearsal.expect[i], part_.rehearsal.lasts, "not looked at: it is not over when the rehearsal ends");
  for (const PlannedAct& act : part_.rehearsal.acts)
    if (act.at >= part_.rehearsal.lasts)
      outcome_.failing.push_back({part_.file, act.place, part_.rehearsal.lasts, "not done: it is later than the rehearsal ends"});
}

}  // namespace standfast::rehearse
