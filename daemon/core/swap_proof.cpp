#include "daemon/core/swap_proof.hpp"

#include <algorithm>
#include <cmath>

#include "config/unit_text.hpp"
#include "daemon/core/state.hpp"
#include "daemon/core/swap_tolerance.hpp"

namespace standfast {
namespace {

using Rows = std::vector<EffectRow>;

double size_of(double si) { return si < 0 ? -si : si; }

bool is_near(const Channel& channel, double one, double other, double within) {
  return !exceeds({channel.dimension, size_of(one - other)}, {channel.dimension, within});
}

const Channel& stated(const State& state, std::size_t place) { return state.job->rig.channels[place]; }
Swap& swap_at(State& state, std::size_t place) { return *state.values.channels[place].segment.swap; }

// What the instrument at a channel says by itself, doubted or not: a gauge that steps alone is the one to be told of.
std::optional<double> own_number(const ChannelState& channel) {
  const Reading& reading = channel.segment.swap ? channel.segment.swap->shown : channel.reading;
  return reading.has_number() ? std::optional{reading.value.si} : std::nullopt;
}

std::vector<std::optional<double>> where_lengths_stand(const State& state, std::size_t without) {
  std::vector<std::optional<double>> numbers(state.values.channels.size());
  for (std::size_t c = 0; c < numbers.size(); ++c)
    if (c != without && is_joined(stated(state, c))) numbers[c] = own_number(state.values.channels[c]);
  return numbers;
}

Refusal does_not_stand(const Channel& channel, const Swap& swap) {
  const bool good = swap.shown.quality == Quality::good;
  return {"not-standing", channel.name + (good ? " does not stand still yet, it shows " + words_of(channel, swap.shown.value.si)
                                               : ": " + std::string(entry_of(swap.shown.cause).text))};
}

void forget_proof(Swap& swap) {
  swap.feeler.reset();
  swap.proof.clear();
  swap.proved_by.clear();
  swap.twins.reset();
  swap.stated.reset();
}

void pass(State& state, std::size_t place, std::string facts, Rows& rows) {
  Swap& swap = swap_at(state, place);
  swap.feeler.reset();
  swap.proof = std::move(facts);
  swap.proved_at = *swap.standing.level;
  swap.twins = seen_by_twins(state, place);
  ++state.picture;
  rows.emplace_back(ProofResult{"swap " + stated(state, place).name, true, swap.proof});
}

void fail(State& state, std::size_t place, std::string why, Rows& rows) {
  forget_proof(swap_at(state, place));
  ++state.picture;
  rows.emplace_back(ProofResult{"swap " + stated(state, place).name, false, std::move(why)});
}

// Another gauge has gone along by half the thickness or more: empty if none has.
std::string moved_instead(const State& state, const FeelerTest& test) {
  for (std::size_t c = 0; c < test.others.size(); ++c) {
    const auto now = own_number(state.values.channels[c]);
    const Channel& channel = stated(state, c);
    if (!now || !test.others[c] || is_near(channel, *now, *test.others[c], size_of(test.rise) / 2)) continue;
    return channel.name + " changed by " + words_of(channel, *now - *test.others[c], true) +
           " meanwhile: the feeler is under another gauge, or wires are crossed";
  }
  return {};
}

std::string wrong_change(const Channel& channel, const FeelerTest& test, double changed) {
  const std::string words = "it changed by " + words_of(channel, changed, true) + ", not by " + words_of(channel, test.rise, true);
  const bool turned = is_near(channel, changed, -test.rise, swap_tolerance(channel, 0));
  return words + (turned ? ": it stands the wrong way round" : "");
}

void watch_feeler(State& state, std::size_t place, Rows& rows) {
  const Channel& channel = stated(state, place);
  Swap& swap = swap_at(state, place);
  FeelerTest& test = *swap.feeler;
  if (std::string other = moved_instead(state, test); !other.empty()) return fail(state, place, std::move(other), rows);
  if (!swap.standing.level) return;
  const double within = swap_tolerance(channel, 0), level = *swap.standing.level, changed = level - test.before;
  if (!test.within) {
    if (is_near(channel, changed, 0, 2 * within)) return;  // Not in yet.
    if (!is_near(channel, changed, test.rise, within)) return fail(state, place, wrong_change(channel, test, changed), rows);
    test.within = level;
    ++state.picture;
    return;
  }
  if (is_near(channel, level, *test.within, within)) return;  // Not drawn yet.
  if (!is_near(channel, changed, 0, within))
    return fail(state, place, "drawn, it stands " + words_of(channel, changed, true) + " from where it stood before", rows);
  pass(state, place,
       "feeler of " + words_of(channel, size_of(test.rise)) + ": from " + words_of(channel, test.before) + " to " +
           words_of(channel, *test.within) + " (" + words_of(channel, *test.within - test.before, true) + ") and back to " +
           words_of(channel, level),
       rows);
}

}  // namespace

bool is_joined(const Channel& channel) { return channel.dimension == Dimension{Base::length, Per::none}; }

double upwards(const State& state, std::size_t place) {
  for (const Point& point : state.job->rig.points)
    if (!point.up_is_positive && std::find(point.gauges.begin(), point.gauges.end(), ChannelId{place}) != point.gauges.end()) return -1;
  return 1;
}

std::string words_of(const Channel& channel, double si, bool signed_too) {
  const Amount amount{channel.dimension, si};
  const int decimals = channel.dimension.base == Base::length ? 3 : 1;
  return (signed_too && on_grid(amount) > 0 ? "+" : "") + amount_text(amount, default_unit(channel.dimension), decimals);
}

std::optional<Refusal> start_feeler(State& state, std::size_t place, const std::string& text, const std::string& by) {
  const Channel& channel = stated(state, place);
  if (!is_joined(channel))
    return Refusal{"no-feeler", channel.name + " is no gauge of movement or travel: it is proved by a dial, as in 'dial 212 bar'"};
  const auto thickness = parse_amount(text, channel.dimension);
  if (!thickness) return Refusal{"unreadable", thickness.error().message + "; expected a thickness, as in 'feeler 1.00 mm'"};
  if (exceeds(amount(thinnest_feeler), *thickness) || exceeds(*thickness, amount(thickest_feeler)))
    return Refusal{"feeler-size", "a feeler of " + words_of(channel, thickness->si) + " is not one of " +
                                      words_of(channel, thinnest_feeler.si()) + " to " + words_of(channel, thickest_feeler.si())};
  Swap& swap = swap_at(state, place);
  if (!swap.standing.level) return does_not_stand(channel, swap);
  forget_proof(swap);
  swap.proved_by = by;
  swap.feeler = FeelerTest{upwards(state, place) * thickness->si, *swap.standing.level, {}, where_lengths_stand(state, place)};
  ++state.picture;
  return std::nullopt;
}

std::optional<Refusal> prove_by_dial(State& state, std::size_t place, const std::string& text, const std::string& by, Rows& rows) {
  const Channel& channel = stated(state, place);
  if (is_joined(channel))
    return Refusal{"no-dial", channel.name + " is proved by a feeler that is put under it, as in 'feeler 1.00 mm'"};
  const auto dial = parse_amount(text, channel.dimension);
  if (!dial) return Refusal{"unreadable", dial.error().message + "; expected what the dial shows, as in 'dial 212 bar'"};
  Swap& swap = swap_at(state, place);
  if (!swap.standing.level) return does_not_stand(channel, swap);
  if (exceeds({channel.dimension, lowest_dial(channel)}, {channel.dimension, size_of(dial->si)}))
    return Refusal{"dial-too-low", "a dial at " + words_of(channel, dial->si) + " proves nothing of the scale: bring " + channel.name +
                                       " and the dial to " + words_of(channel, lowest_dial(channel)) +
                                       " or more; where the circuit stands lower, off the circuit on a hand pump of their own"};
  const double allowed = swap_tolerance(channel, dial->si), shows = *swap.standing.level;
  if (!is_near(channel, shows, dial->si, allowed))
    return Refusal{"dial-differs", channel.name + " shows " + words_of(channel, shows) + ", the dial " + words_of(channel, dial->si) +
                                       ": more than " + words_of(channel, allowed) + " apart"};
  forget_proof(swap);
  swap.proved_by = by;
  pass(state, place, "dial " + words_of(channel, dial->si) + ", it shows " + words_of(channel, shows), rows);
  return std::nullopt;
}

void watch_feelers(State& state, const Block& block, Rows& rows) {
  for (const Block::ChannelPlace& place : block.channels) {
    const Segment& segment = state.values.channels[place.channel.at()].segment;
    if (segment.swap && segment.swap->feeler) watch_feeler(state, place.channel.at(), rows);
  }
}

void interrupt_feelers(State& state, const std::string& why, Rows& rows) {
  for (std::size_t c = 0; c < state.values.channels.size(); ++c) {
    const Segment& segment = state.values.channels[c].segment;
    if (segment.swap && segment.swap->feeler) fail(state, c, why, rows);
  }
}

std::optional<Unseen> seen_by_twins(const State& state, std::size_t place) {
  const ChannelState& channel = state.values.channels[place];
  Unseen seen;
  int twins = 0;
  for (const Partner& partner : channel.partners) {
    const Reading& twin = state.values.channels[partner.channel].reading;
    if (partner.is_pressure || !partner.stood || twin.quality != Quality::good) continue;
    seen.moved += twin.value.si - *partner.stood;
    seen.uncertainty = std::max(seen.uncertainty, std::sqrt(2 * twin.uncertainty * twin.uncertainty));
    seen.by += (twins++ ? ", " : "") + stated(state, partner.channel).name;
  }
  if (twins == 0 || !channel.stood) return std::nullopt;
  seen.moved /= twins;
  return seen;
}

}  // namespace standfast
