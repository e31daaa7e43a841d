#include "daemon/core/by_hand.hpp"

#include <algorithm>

#include "config/nearest_word.hpp"
#include "config/unit_text.hpp"
#include "daemon/core/authority.hpp"
#include "daemon/core/marks.hpp"
#include "daemon/core/named_channel.hpp"
#include "daemon/core/progress.hpp"
#include "daemon/core/state.hpp"

namespace standfast {
namespace {

Refusal refused(std::string code, std::string text) { return {std::move(code), std::move(text)}; }

std::vector<std::string_view> names_by_hand(const Rig& rig) {
  std::vector<std::string_view> names;
  for (const Channel& channel : rig.channels)
    if (!channel.bus) names.push_back(channel.name);
  return names;
}

std::string meant(std::string_view near) {
  return near.empty() ? std::string() : "; did you mean '" + std::string(near) + "'?";
}

// Who is on no list has the auditor's role, and an auditor enters nothing.
std::optional<Refusal> without_authority(const Action& action) {
  if (const auto text = missing(to_act(action.what), action)) return refused("not-permitted", *text);
  if (action.person.role == Role::auditor)
    return refused("not-permitted", "needs a technician, surveyor, supervisor or engineer by name");
  return std::nullopt;
}

struct Twice { std::string first, second; };

std::optional<Twice> twice(const std::string& value) {
  const std::size_t at = value.find(entered_again);
  if (at == std::string::npos) return std::nullopt;
  return Twice{value.substr(0, at), value.substr(at + entered_again.size())};
}

// A whole step of the resolution apart is another reading; with none stated, anything that can be told apart is.
bool is_the_same(const Channel& channel, double first, double second) {
  const double apart = first < second ? second - first : first - second;
  const auto amount_of = [&](double si) { return Amount{channel.dimension, si}; };
  return !exceeds(amount_of(apart), amount_of(0)) || exceeds(amount_of(channel.resolution), amount_of(apart));
}

std::string range_text(const Channel& channel) {
  const auto text = [&](double si) {
    return amount_text({channel.dimension, si}, default_unit(channel.dimension), 3);
  };
  return text(channel.range_low) + " to " + text(channel.range_high);
}

std::optional<Refusal> not_an_amount(const std::string& text, const TextError& error) {
  return refused("unreadable", "'" + text + "': " + error.message + "; expected " + error.expected + meant(error.nearest));
}

}  // namespace

std::optional<Refusal> enter_by_hand(State& state, const Action& action) {
  const auto place = channel_named(state, action.object);
  if (!place) return place.error();
  const Rig& rig = state.job->rig;
  const Channel& channel = rig.channels[*place];
  if (channel.bus) return refused("not-by-hand", channel.name + " is read over bus " + rig.buses[channel.bus->at()].name);
  if (auto answer = without_authority(action)) return answer;
  const auto both = twice(action.value);
  if (!both) return refused("not-twice", "a reading by hand is entered twice");
  const auto first = parse_amount(both->first, channel.dimension), second = parse_amount(both->second, channel.dimension);
  if (!first) return not_an_amount(both->first, first.error());
  if (!second) return not_an_amount(both->second, second.error());
  if (!is_the_same(channel, first->si, second->si))
    return refused("not-the-same", "entered " + both->first + " and then " + both->second + ": look again, and enter both anew");
  if (scaled_reading(channel, first->si, state.now).saturated != Saturation::none)
    return refused("outside-range", both->first + " lies outside the range of " + channel.name + ", " + range_text(channel));
  take_entry(state.values, *state.job, {ChannelId{*place}, first->si, state.now}, state.wall, progress_of(state));
  take_marks(state, ChannelId{*place});
  return std::nullopt;
}

std::optional<Refusal> refusal_as_note(const State& state, const Action& action) {
  if (!state.job) return std::nullopt;
  const auto names = names_by_hand(state.job->rig);
  const bool is_one = std::find(names.begin(), names.end(), action.object) != names.end();
  const std::string_view near = is_one ? std::string_view(action.object) : nearest_word(action.object, names);
  if (near.empty()) return std::nullopt;
  const Channel& channel = state.job->rig.channels[*channel_named(state, std::string(near))];
  if (!is_one && !parse_amount(action.value, channel.dimension)) return std::nullopt;
  return refused("not-a-note", std::string(near) + " is a channel that is read by hand: enter its reading twice, with the unit");
}

std::optional<ChannelId> entered_by(const State& state, const Action& action, const std::vector<EffectRow>& rows) {
  if (action.what != Act::enter_reading || !state.job || rows.empty()) return std::nullopt;
  const auto* answer = std::get_if<ActionAnswer>(&rows.back());
  if (!answer || !answer->accepted) return std::nullopt;
  const auto place = channel_named(state, action.object);
  return place ? std::optional{ChannelId{*place}} : std::nullopt;
}

std::string awaited_by_baseline(const State& state) {
  std::string names;
  if (!state.baseline_taking) return names;
  for (const ChannelId channel : state.marks_needed.baseline.channels)
    if (const MarkWindow& window = state.baseline_taking->channels[channel.at()]; window.by_hand && window.spread.count == 0)
      names += (names.empty() ? "enter " : ", ") + state.job->rig.channels[channel.at()].name;
  return names;
}

bool is_overdue(const State& state, std::size_t channel) {
  const ChannelState& now = state.values.channels[channel];
  return !state.job->rig.channels[channel].bus && now.reading.quality != Quality::bad &&
         state.now - now.reading.newest >= now.every;
}

}  // namespace standfast
