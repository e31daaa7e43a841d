// What a person writes behind the kind of a permit.
//   raise, top-up   circuits by name, or nothing for all
//   commission      nothing, or `up to 50 bar`
//   recover         `J1 J3 up to 200 kN further 0.2 mm`, or `down to`
#include <algorithm>
#include <array>

#include "config/unit_text.hpp"
#include "daemon/core/permits.hpp"

namespace standfast {
namespace {

using Words = std::vector<std::string>;

constexpr double commission_share = 0.10;  // Of the lowest planned pressure (common practice, no source).
constexpr std::string_view valves_note = "jack valves shut";

Words words_of(const std::string& text) {
  Words words;
  std::string word;
  for (const char c : text + ' ') {
    if (c != ' ') { word += c; continue; }
    if (!word.empty()) words.push_back(std::exchange(word, {}));
  }
  return words;
}

Failure<Refusal> unreadable(const std::string& expected) { return {Refusal{"unreadable", "expected " + expected}}; }

double default_pressure(const State& state) {
  const Job& job = *state.job;
  double lowest = 0;
  for (const Jack& jack : job.rig.jacks) {
    const double planned = job.plan.column_expected.si() * jack.planned_share.si() / jack.area.si();
    if (lowest == 0 || planned < lowest) lowest = planned;
  }
  return commission_share * lowest;
}

bool entered(const State& state, std::string_view subject) {
  return std::find(state.run.entered.begin(), state.run.entered.end(), subject) != state.run.entered.end();
}

Result<Permit, Refusal> commission_permit(const State& state, Permit permit, const std::string& text) {
  const Stage* stage = stage_in_force(state);
  const double usual = stage && stage->pressure_limit ? stage->pressure_limit->si() : default_pressure(state);
  permit.pressure_limit = usual;
  permit.circuits = text;
  if (text.empty()) return permit;
  constexpr std::string_view lead = "up to ";
  if (!text.starts_with(lead)) return unreadable("`up to` and a pressure, as in 'up to 50 bar'");
  const auto pressure = parse_amount(std::string_view(text).substr(lead.size()), {Base::pressure, Per::none});
  if (!pressure) return Failure{Refusal{"unreadable", pressure.error().message}};
  if (exceeds(*pressure, amount(Pressure::from_si(usual))) && !entered(state, valves_note))
    return Failure{Refusal{"above-usual", "more than the usual pressure needs the note '" + std::string(valves_note) + "' of two persons"}};
  permit.pressure_limit = pressure->si;
  return permit;
}

Result<Permit, Refusal> circuits_permit(const State& state, Permit permit, const std::string& text) {
  for (const std::string& word : words_of(text)) {
    const auto& circuits = state.job->rig.circuits;
    if (std::none_of(circuits.begin(), circuits.end(), [&](const Circuit& c) { return c.name == word; }))
      return Failure{Refusal{"unknown-circuit", "no circuit '" + word + "' in the rig"}};
  }
  permit.circuits = text;
  return permit;
}

void note_tripped(const State& state, Permit& permit) {
  for (std::size_t i = 0; i < state.limits.size(); ++i) {
    const LimitMemory& memory = state.limits[i];
    if (!memory.watches[1].active && !memory.watches[2].active) continue;
    if (!memory.last.high.has_number()) continue;
    permit.tripped.push_back(memory.name);
    permit.tripped_at.push_back(memory.last.high.value.si);
  }
}

// `further` is of the tripped quantity; which dimension it has, the unit tells.
std::optional<double> further_from(const std::string& text) {
  for (const Base base : {Base::length, Base::force, Base::ratio, Base::angle, Base::pressure})
    if (const auto parsed = parse_amount(text, {base, Per::none})) return parsed->si;
  return std::nullopt;
}

Result<Permit, Refusal> recover_permit(const State& state, Permit permit, const std::string& text) {
  const auto expected = [] { return unreadable("jacks, `up to` or `down to`, a load, `further`, an amount, as in 'J1 J3 up to 200 kN further 0.2 mm'"); };
  const std::size_t up = text.find(" up to "), down = text.find(" down to "), further = text.find(" further ");
  const bool upward = up != std::string::npos;
  const std::size_t turn = upward ? up : down;
  if (turn == std::string::npos || further == std::string::npos || further < turn) return expected();
  const std::size_t load_at = turn + (upward ? 7 : 9);
  if (load_at >= further) return expected();
  const auto load = parse_amount(text.substr(load_at, further - load_at), {Base::force, Per::none});
  if (!load) return Failure{Refusal{"unreadable", load.error().message}};
  const auto amount_further = further_from(text.substr(further + 9));
  if (!amount_further) return expected();
  for (const std::string& word : words_of(text.substr(0, turn))) {
    const auto& jacks = state.job->rig.jacks;
    const auto jack = std::find_if(jacks.begin(), jacks.end(), [&](const Jack& j) { return j.name == word; });
    if (jack == jacks.end()) return Failure{Refusal{"unknown-jack", "no jack '" + word + "' in the rig"}};
    if (load->si > jack->rated.si()) return Failure{Refusal{"above-rating", "more than the rated load of " + word}};
    permit.recover.jacks.push_back(static_cast<std::uint16_t>(jack - jacks.begin()));
  }
  if (permit.recover.jacks.empty()) return expected();
  permit.recover.up = upward;
  permit.recover.load = load->si;
  permit.recover.further = *amount_further < 0 ? -*amount_further : *amount_further;
  permit.circuits = text;
  note_tripped(state, permit);
  return permit;
}

}  // namespace

Result<Permit, Refusal> permit_from(const State& state, PermitKind kind, const Action& action) {
  Permit permit{.kind = kind, .by = action.person.name, .second = action.second.name};
  switch (kind) {
    case PermitKind::commission: return commission_permit(state, std::move(permit), action.value);
    case PermitKind::recover: return recover_permit(state, std::move(permit), action.value);
    case PermitKind::raise: case PermitKind::top_up: case PermitKind::lower: case PermitKind::none:
      return circuits_permit(state, std::move(permit), action.value);
  }
  return unreadable("a permit");
}

}  // namespace standfast
