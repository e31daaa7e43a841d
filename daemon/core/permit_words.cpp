// What a person writes behind the kind of a permit.
//   raise, top-up   circuits by name, or nothing for all
//   commission      nothing, or `up to 50 bar`
//   recover         `J1 J3 up to 200 kN further 0.2 mm`, or `down to`; an amount for each dimension of what has tripped
//                   (`further 0.2 mm, 5 kN`, nothing where no limit has), and `without head, tilt` for what has no value
#include <algorithm>
#include <array>

#include "config/unit_text.hpp"
#include "daemon/core/act_kinds.hpp"
#include "daemon/core/permits.hpp"

namespace standfast {
namespace {

using Words = std::vector<std::string>;

constexpr double commission_share = 0.10;  // Of the lowest planned pressure (common practice, no source).

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

// The parts of a recover permit as they were written.
struct RecoverWords {
  Words jacks;
  bool up{true};
  std::string load;
  Words further, without;
};

std::string cut_behind(std::string& text, std::string_view word) {
  const std::size_t at = text.find(word);
  if (at == std::string::npos) return {};
  std::string behind = text.substr(at + word.size());
  text.resize(at);
  return behind;
}

Words listed(const std::string& text) {
  Words items;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t comma = std::min(text.find(',', at), text.size());
    std::size_t from = at, to = comma;
    while (from < to && text[from] == ' ') ++from;
    while (to > from && text[to - 1] == ' ') --to;
    if (to > from) items.push_back(text.substr(from, to - from));
    at = comma + 1;
  }
  return items;
}

std::optional<RecoverWords> recover_words(std::string text) {
  RecoverWords words;
  words.without = listed(cut_behind(text, " without "));
  words.further = listed(cut_behind(text, " further "));
  words.load = cut_behind(text, " up to ");
  words.up = !words.load.empty();
  if (!words.up) words.load = cut_behind(text, " down to ");
  words.jacks = words_of(text);
  if (words.jacks.empty() || words.load.empty()) return std::nullopt;
  return words;
}

// The first of the amounts that is of this dimension; none if there is none.
std::optional<double> further_in(const Words& amounts, Dimension dimension) {
  for (const std::string& each : amounts)
    if (const auto parsed = parse_amount(each, dimension)) return parsed->si < 0 ? -parsed->si : parsed->si;
  return std::nullopt;
}

// An alarm of this limit stands at HOLD or STOP, its condition still there or not.
bool stands(const State& state, const std::string& limit) {
  return std::any_of(state.alarms.open.begin(), state.alarms.open.end(), [&](const Alarm& alarm) {
    return alarm.cause == Cause::limit && latches(alarm.level) && alarm.subject == limit;
  });
}

// Where a bound and a value lie, the one that is further out.
std::optional<Amount> outermost(const std::array<std::optional<LevelInForce>, 3>& levels, bool above, const Reading& value) {
  std::optional<Amount> bound;
  for (const auto& level : levels) {
    if (level && !bound) bound = above ? level->above : level->below;
  }
  if (!bound || !value.has_number()) return bound;
  return Amount{bound->dimension, above ? std::max(bound->si, value.value.si) : std::min(bound->si, value.value.si)};
}

Result<Tripped, Refusal> tripped_by(const LimitInForce& limit, const LimitMemory& memory, const RecoverWords& words) {
  Tripped tripped{.limit = memory.name};
  const Dimension dimension = limit.limit.of.dimension;
  const auto further = further_in(words.further, dimension);
  if (!further)
    return Failure{Refusal{"no-bound", memory.name + " has tripped: how much further may it go? As in 'further 0.2 mm'"}};
  tripped.unseen = !memory.last.high.has_number() || !memory.last.low.has_number();
  if (tripped.unseen && std::find(words.without.begin(), words.without.end(), memory.name) == words.without.end())
    return Failure{Refusal{"reading-bad", memory.name + " has no value; if you go on without it, say 'without " + memory.name + "'"}};
  if (const auto high = outermost(limit.levels, true, memory.last.high)) tripped.highest = Amount{dimension, high->si + *further};
  if (const auto low = outermost(limit.levels, false, memory.last.low)) tripped.lowest = Amount{dimension, low->si - *further};
  return tripped;
}

Result<Permit, Refusal> recover_permit(const State& state, Permit permit, const std::string& text) {
  const auto words = recover_words(text);
  if (!words) return unreadable("jacks, `up to` or `down to`, a load, as in 'J1 J3 up to 200 kN further 0.2 mm'");
  const auto load = parse_amount(words->load, {Base::force, Per::none});
  if (!load) return Failure{Refusal{"unreadable", load.error().message}};
  for (const std::string& word : words->jacks) {
    const auto& jacks = state.job->rig.jacks;
    const auto jack = std::find_if(jacks.begin(), jacks.end(), [&](const Jack& j) { return j.name == word; });
    if (jack == jacks.end()) return Failure{Refusal{"unknown-jack", "no jack '" + word + "' in the rig"}};
    if (exceeds(*load, amount(jack->rated))) return Failure{Refusal{"above-rating", "more than the rated load of " + word}};
    permit.recover.jacks.push_back(static_cast<std::uint16_t>(jack - jacks.begin()));
  }
  for (std::size_t i = 0; i < state.limits.size(); ++i) {
    if (!stands(state, state.limits[i].name)) continue;
    auto tripped = tripped_by(state.in_force.limits[i], state.limits[i], *words);
    if (!tripped) return Failure{tripped.error()};
    permit.recover.tripped.push_back(std::move(*tripped));
  }
  permit.recover.up = words->up;
  permit.recover.load = load->si;
  permit.recover.known = state.alarms.last;
  permit.circuits = text;
  return permit;
}

// Up, recover is raising too: nobody can accept by name what has not been proved, and before there is a baseline nothing
// guards it.
std::optional<Refusal> refusal_to_recover_up(const State& state) {
  const Stage* stage = live_stage(state.run, state.job->plan);
  const bool early = stage && (stage->kind == StageKind::commission || stage->kind == StageKind::baseline);
  if (early) return Refusal{"not-in-this-stage", "upward, recover belongs to stages in which the load is raised"};
  if (!state.proofs.has(Proof::heartbeat)) return Refusal{"not-proved", "proof heartbeat has not been passed"};
  return std::nullopt;
}

}  // namespace

Result<Permit, Refusal> permit_from(const State& state, PermitKind kind, const Action& action) {
  Permit permit{.kind = kind, .by = action.person.name, .second = action.second.name};
  switch (kind) {
    case PermitKind::commission: return commission_permit(state, std::move(permit), action.value);
    case PermitKind::recover: {
      auto recover = recover_permit(state, std::move(permit), action.value);
      if (recover && recover->recover.up)
        if (auto refusal = refusal_to_recover_up(state)) return Failure{std::move(*refusal)};
      return recover;
    }
    case PermitKind::raise: case PermitKind::top_up: case PermitKind::lower: case PermitKind::none:
      return circuits_permit(state, std::move(permit), action.value);
  }
  return unreadable("a permit");
}

}  // namespace standfast
