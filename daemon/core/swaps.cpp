#include "daemon/core/swaps.hpp"

#include <cmath>

#include "config/date_text.hpp"
#include "config/unit_text.hpp"
#include "daemon/core/named_channel.hpp"
#include "daemon/core/state.hpp"
#include "daemon/core/step_watch.hpp"
#include "daemon/core/swap_proof.hpp"
#include "daemon/core/swap_tolerance.hpp"

namespace standfast {
namespace {

using Rows = std::vector<EffectRow>;
using Answer = std::optional<Refusal>;

constexpr std::size_t longest_certificate = 40;

Answer refused(std::string code, std::string text) { return Refusal{std::move(code), std::move(text)}; }

const Channel& stated(const State& state, std::size_t place) { return state.job->rig.channels[place]; }

// The text behind a word and a space; none where it does not begin so.
std::optional<std::string> behind(const std::string& text, std::string_view word) {
  if (!text.starts_with(word) || text.size() <= word.size() || text[word.size()] != ' ') return std::nullopt;
  return text.substr(word.size() + 1);
}

// The rig names a day for the old instrument; the new one has to have one, too.
Answer read_certificate(const State& state, std::size_t place, const std::string& text, Swap& swap) {
  constexpr std::string_view lead = " due ";
  const std::size_t at = text.rfind(lead);
  swap.certificate = text.substr(0, at);
  if (at != std::string::npos) swap.due = text.substr(at + lead.size());
  if (swap.certificate.empty() || swap.certificate.size() > longest_certificate)
    return refused("no-certificate", "which instrument is put in? Its certificate or serial number, of at most " +
                                         std::to_string(longest_certificate) + " bytes");
  if (swap.due.empty())
    return stated(state, place).certificate.due.empty()
               ? std::nullopt
               : refused("no-due-day", "until when is its certificate valid? A day, as in 2027-03-01");
  if (!is_date(swap.due)) return refused("unreadable", "'" + swap.due + "' is not a day of the calendar, as in 2027-03-01");
  if (certificate_overdue({swap.certificate, swap.due}, state.wall))
    return refused("certificate-overdue", "certificate " + swap.certificate + " ran out on " + swap.due);
  return std::nullopt;
}

// A number stands for one instrument, and that one is elsewhere.
Answer in_use(const State& state, std::size_t place, const std::string& certificate) {
  for (std::size_t c = 0; c < state.values.channels.size(); ++c) {
    if (c == place) continue;
    const Segment& segment = state.values.channels[c].segment;
    const std::string in_place = segment.swap ? segment.swap->certificate : certificate_in_place(stated(state, c), segment).number;
    if (in_place == certificate)
      return refused("certificate-in-use", "certificate " + certificate + " is that of " + stated(state, c).name);
  }
  return std::nullopt;
}

Answer begin(State& state, std::size_t place, const Action& action, Rows& rows) {
  const Channel& channel = stated(state, place);
  ChannelState& now = state.values.channels[place];
  if (!channel.bus) return refused("read-by-hand", channel.name + " is read by hand: it has no wire to put another instrument on");
  if (now.segment.swap) return refused("being-swapped", channel.name + " is being swapped; give that up first");
  Swap swap{.begun_by = action.person.name, .second = action.second.name};
  swap.shown.value.dimension = channel.dimension;
  if (auto answer = read_certificate(state, place, action.value, swap)) return answer;
  if (auto answer = in_use(state, place, swap.certificate)) return answer;
  rows.emplace_back(Notice{"swap-begun", channel.name + ": certificate " + swap.certificate + " in place of " +
                                             certificate_in_place(channel, now.segment).number});
  now.segment.unproved = true;
  now.segment.swap = std::move(swap);
  forget_reading(now, channel.dimension, state.now);
  take_step_as_true(now);  // A step of the old one is none of the new.
  // What was known of the old one is not known of the new.
  std::erase_if(state.accepted, [&](const Accepted& each) { return each.name == channel.name; });
  ++state.picture;
  return std::nullopt;
}

// No twin saw it: who states how far it went states how sure he is, too. Rectangular: JCGM 100:2008, 4.3.7.
Answer state_movement(State& state, std::size_t place, const std::string& text, const std::string& by) {
  const Channel& channel = stated(state, place);
  Swap& swap = *state.values.channels[place].segment.swap;
  if (!is_joined(channel) || !state.values.channels[place].stood)
    return refused("not-needed", channel.name + " is not joined to anything: its numbers count as they are");
  if (swap.proof.empty()) return refused("not-proved", "prove it first: what nobody saw ends with the proof");
  if (swap.twins) return refused("twin-saw", swap.twins->by + " saw how far it went");
  constexpr std::string_view between = " within ";
  const std::size_t at = text.find(between);
  const std::string expected = "; expected how far, and how sure that is, as in 'moved 0.0 mm within 0.2 mm'";
  if (at == std::string::npos) return refused("unreadable", "'" + text + "' does not say how sure that is" + expected);
  const auto moved = parse_amount(text.substr(0, at), channel.dimension);
  const auto within = parse_amount(text.substr(at + between.size()), channel.dimension);
  if (!moved || !within) return refused("unreadable", (moved ? within.error() : moved.error()).message + expected);
  if (!exceeds(*within, {channel.dimension, 0})) return refused("unreadable", "nothing is known exactly" + expected);
  swap.stated = Unseen{upwards(state, place) * moved->si, within->si / std::sqrt(3.0), by};
  ++state.picture;
  return std::nullopt;
}

Answer prove(State& state, std::size_t place, const Action& action, Rows& rows) {
  const std::string& by = action.person.name;
  if (const auto text = behind(action.value, "feeler")) return start_feeler(state, place, *text, by);
  if (const auto text = behind(action.value, "dial")) return prove_by_dial(state, place, *text, by, rows);
  if (const auto text = behind(action.value, "moved")) return state_movement(state, place, *text, by);
  return refused("unreadable", "expected 'feeler 1.00 mm', 'dial 212 bar' or 'moved 0.0 mm within 0.2 mm'");
}

// How the new one's numbers go on from the old one's; none while something is missing for it, or nothing is to be joined.
std::optional<Unseen> unseen(const Swap& swap) { return swap.twins ? swap.twins : swap.stated; }
std::optional<Join> join_of(const State& state, std::size_t place) {
  const ChannelState& channel = state.values.channels[place];
  const Swap& swap = *channel.segment.swap;
  const auto moved = unseen(swap);
  if (!is_joined(stated(state, place)) || !channel.stood || swap.proof.empty() || !moved) return std::nullopt;
  const Stood& stood = *channel.stood;
  return Join{stood.value + moved->moved - swap.proved_at,
              std::sqrt(stood.uncertainty * stood.uncertainty + moved->uncertainty * moved->uncertainty)};
}
bool wants_join(const State& state, std::size_t place) {
  return is_joined(stated(state, place)) && state.values.channels[place].stood && !join_of(state, place);
}

// A gauge that was touched behind its proof: it is not where it stood, but for what its twins saw since.
Answer disturbed(const State& state, std::size_t place) {
  const Channel& channel = stated(state, place);
  const Swap& swap = *state.values.channels[place].segment.swap;
  if (swap.shown.quality != Quality::good)
    return refused("reading-not-good", channel.name + ": " + std::string(entry_of(swap.shown.cause).text));
  if (!swap.standing.level) return refused("not-standing", channel.name + " does not stand still");
  if (!is_joined(channel)) return std::nullopt;
  const auto twins = swap.twins ? seen_by_twins(state, place) : std::nullopt;
  const double since = *swap.standing.level - swap.proved_at - (twins ? twins->moved - swap.twins->moved : 0);
  if (!exceeds({channel.dimension, since < 0 ? -since : since}, {channel.dimension, swap_tolerance(channel, 0)})) return std::nullopt;
  return refused("moved-since-proof", channel.name + " has gone " + words_of(channel, since, true) +
                                          " since it was proved, and no twin with it: prove it again");
}

void tell_number(const std::string& name, const Channel& channel, double si, double uncertainty, Instant at, Rows& rows) {
  rows.emplace_back(DerivedValue{"swap " + channel.name + ' ' + name, {.quality = Quality::good, .cause = Cause::none,
                                                                      .value = {channel.dimension, si}, .uncertainty = uncertainty,
                                                                      .oldest = at, .newest = at}});
}

// What anybody can recompute: offset = stood + moved - shown.
void tell_join(const State& state, std::size_t place, Rows& rows) {
  const Channel& channel = stated(state, place);
  const ChannelState& now = state.values.channels[place];
  const Swap& swap = *now.segment.swap;
  if (now.stood) tell_number("stood", channel, now.stood->value, now.stood->uncertainty, now.stood->at, rows);
  tell_number("shown", channel, swap.proved_at, swap.shown.uncertainty, state.now, rows);
  const auto join = join_of(state, place);
  if (!join) return;
  tell_number("moved", channel, unseen(swap)->moved, unseen(swap)->uncertainty, state.now, rows);
  tell_number("offset", channel, join->offset, join->uncertainty, state.now, rows);
}

Answer approve(State& state, std::size_t place, const Action& action, Rows& rows) {
  const Channel& channel = stated(state, place);
  ChannelState& now = state.values.channels[place];
  const Swap& swap = *now.segment.swap;
  if (acts_as_one_of(action, swap.begun_by, swap.second) ||
      acts_as_one_of(action, swap.proved_by, swap.stated ? swap.stated->by : swap.proved_by))
    return refused("same-person", "who swaps or proves an instrument does not approve it");
  const std::string wants = swap_seen(state, place).wants;
  if (swap.proof.empty()) return refused("not-proved", channel.name + " has not been proved: " + wants);
  if (wants_join(state, place)) return refused("movement-unknown", channel.name + ": " + wants);
  if (auto answer = disturbed(state, place)) return answer;
  tell_join(state, place, rows);
  rows.emplace_back(Notice{"swapped", channel.name + ": " + swap_seen(state, place).stands + "; approved by " + action.person.name +
                                          (action.reason.empty() ? "" : ": " + action.reason)});
  now.segment = {.join = join_of(state, place), .certificate = swap.certificate, .due = swap.due, .unproved = false, .swap = {}};
  now.frozen = false;
  for (Partner& partner : now.partners) partner.then.reset();
  ++state.picture;
  return std::nullopt;
}

Answer abandon(State& state, std::size_t place, const Action& action, Rows& rows) {
  if (action.reason.empty()) return refused("no-reason", "giving up a swap needs a reason");
  state.values.channels[place].segment.swap.reset();
  rows.emplace_back(Notice{"swap-abandoned", action.object + ": " + action.reason});
  ++state.picture;
  return std::nullopt;
}

std::string whole_seconds(Duration time) { return std::to_string(time.ns / 1'000'000'000) + " s"; }

std::string certificate_words(const Swap& swap) {
  return "certificate " + swap.certificate + (swap.due.empty() ? "" : ", due " + swap.due) + ", begun by " + swap.begun_by + " and " +
         swap.second;
}

std::string movement_words(const State& state, std::size_t place, const Swap& swap) {
  const auto moved = unseen(swap);
  if (!moved) return {};
  const Channel& channel = stated(state, place);
  return "; by " + moved->by + (swap.twins ? "" : "'s word") + " it went up by " +
         words_of(channel, upwards(state, place) * moved->moved, true) + " unseen";
}

std::string by_a_dial(const Channel& channel) {
  const double lowest = lowest_dial(channel);
  return "prove it by a dial beside it" + (lowest > 0 ? ", at " + words_of(channel, lowest) + " or more" : std::string()) +
         ", as in 'dial 212 bar'";
}

std::string what_comes_next(const State& state, std::size_t place, const Swap& swap) {
  const Channel& channel = stated(state, place);
  const std::string& name = channel.name;
  if (swap.feeler && swap.feeler->within) return "draw the feeler, and leave " + name + " alone for some seconds";
  if (swap.feeler)
    return "put the feeler of " + words_of(channel, upwards(state, place) * swap.feeler->rise) + " under " + name +
           " and leave it there for some seconds";
  if (swap.proof.empty())
    return is_joined(channel) ? "prove it by a feeler, as in 'feeler 1.00 mm'" : by_a_dial(channel);
  if (wants_join(state, place)) return "no twin saw how far it moved; a person states it, as in 'moved 0.0 mm within 0.2 mm'";
  return "an engineer approves";
}

}  // namespace

std::optional<Refusal> swap(State& state, const Action& action, Rows& rows) {
  const auto place = channel_named(state, action.object);
  if (!place) return place.error();
  if (action.what == Act::swap_begin) return begin(state, *place, action, rows);
  if (!state.values.channels[*place].segment.swap)
    return refused("not-being-swapped", action.object + " is not being swapped: say by which certificate it is, to begin");
  if (action.what == Act::swap_prove) return prove(state, *place, action, rows);
  if (action.what == Act::swap_approve) return approve(state, *place, action, rows);
  return abandon(state, *place, action, rows);
}

SwapSeen swap_seen(const State& state, std::size_t place) {
  const Channel& channel = stated(state, place);
  const ChannelState& now = state.values.channels[place];
  const Swap& swap = *now.segment.swap;
  SwapSeen seen{certificate_words(swap), what_comes_next(state, place, swap)};
  if (now.stood)
    seen.stands += "; before it stood at " + words_of(channel, now.stood->value) + ", " + whole_seconds(state.now - now.stood->at) + " ago";
  if (!swap.proof.empty()) seen.stands += "; " + swap.proof;
  seen.stands += movement_words(state, place, swap);
  if (const auto join = join_of(state, place))
    seen.stands += "; goes on at " + words_of(channel, swap.proved_at + join->offset) + " (offset " +
                   words_of(channel, join->offset, true) + ")";
  return seen;
}

std::string words_with_swap(const State& state, const Action& action) {
  const auto place = channel_named(state, action.object);
  if (!place) return {};
  const Segment& segment = state.values.channels[*place].segment;
  if (action.what == Act::swap_abandon)
    return action.object + " is given up: it has no value until a swap of it is approved or rig.yaml names its instrument";
  if (action.what == Act::swap_approve) return action.object + " is approved: certificate " + segment.certificate;
  return action.object + ": next: " + swap_seen(state, *place).wants;
}

}  // namespace standfast
