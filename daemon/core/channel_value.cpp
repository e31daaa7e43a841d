#include "daemon/core/channel_value.hpp"

#include <algorithm>
#include <bit>
#include <cmath>

#include "config/line_values.hpp"
#include "config/raw_value.hpp"
#include "daemon/core/doubt.hpp"
#include "daemon/core/entered_value.hpp"
#include "daemon/core/quantity/stiffness.hpp"

namespace standfast {
namespace {

constexpr double margin_of_range = 0.1;
constexpr double frozen_steps = 5;
constexpr double turn_steps = 2;
constexpr double friction = 0.05;  // Of the planned pressure: so much may go into the seals (common practice, no source).

bool is_finite(double value) { return value - value == 0.0; }

// ---- One raw number ----

// NE 43 as public summaries give it: measurement 3.8 to 20.5 mA, failure at or below 3.6 and at or above 21 mA. Between
// them lies nothing the recommendation names; there the value counts and is doubted.
Cause loop_cause(double ampere) {
  const auto current = [](double si) { return amount(Current::from_si(si)); };
  if (!is_finite(ampere)) return ampere < 0 ? Cause::loop_low : Cause::loop_high;
  if (!exceeds(current(ampere), current(3.6e-3))) return Cause::loop_low;
  if (!exceeds(current(21e-3), current(ampere))) return Cause::loop_high;
  if (exceeds(current(3.8e-3), current(ampere))) return Cause::loop_under_range;
  if (exceeds(current(ampere), current(20.5e-3))) return Cause::loop_over_range;
  return Cause::none;
}

double on_scale(const Scale& scale, double raw) {
  return scale.value_low + (raw - scale.raw_low) / (scale.raw_high - scale.raw_low) * (scale.value_high - scale.value_low);
}

// Does NE 43 guard this end of the range? Of a loop whose stated range reaches to the end of its scale or further.
struct Guarded { bool low, high; };
Guarded guarded_by_current(const Channel& channel) {
  const Scale& scale = channel.scale;
  const auto bound = [&](double si) { return Amount{channel.dimension, si}; };
  const double least = std::min(scale.value_low, scale.value_high), most = std::max(scale.value_low, scale.value_high);
  return {scale.loop && !exceeds(bound(channel.range_low), bound(least)),
          scale.loop && !exceeds(bound(most), bound(channel.range_high))};
}

// A number beyond the margin stays at its end: it can no longer overflow what computes on it.
void judge_range(Reading& reading, const Channel& channel) {
  const double margin = margin_of_range * (channel.range_high - channel.range_low);
  const double least = channel.range_low - margin, most = channel.range_high + margin;
  const auto bound = [&](double si) { return Amount{channel.dimension, si}; };
  const bool finite = is_finite(reading.value.si), to_the_top = reading.value.si > 0;
  const auto above = [&](double si) { return finite ? exceeds(reading.value, bound(si)) : to_the_top; };
  const auto below = [&](double si) { return finite ? exceeds(bound(si), reading.value) : !to_the_top; };
  const Guarded guarded = guarded_by_current(channel);
  if (!guarded.high && above(most)) {
    reading.value.si = most;
    reading.saturated = Saturation::high;
    add_doubt(reading, Cause::saturated_high);
  } else if (!guarded.low && below(least)) {
    reading.value.si = least;
    reading.saturated = Saturation::low;
    add_doubt(reading, Cause::saturated_low);
  } else if ((!guarded.high && above(channel.range_high)) || (!guarded.low && below(channel.range_low))) {
    add_doubt(reading, Cause::outside_range);
  }
}

// ---- The words of one channel ----

struct Decoded {
  std::optional<double> number;
  Cause fault{Cause::none};
  std::array<std::uint16_t, 4> raw{};
};

Decoded decoded(const Channel& channel, const Words& words, std::size_t offset) {
  const auto count = static_cast<std::size_t>(words_of(channel.type));
  Decoded result;
  if (offset + count > words.size()) {
    result.fault = Cause::malformed_answer;
    return result;
  }
  const std::span<const std::uint16_t> own{words.data() + offset, count};
  std::copy(own.begin(), own.end(), result.raw.begin());
  const auto number = raw_value(own, channel.type, channel.word_order, channel.byte_order);
  if (number) result.number = *number;
  else result.fault = number.error() == RawFault::wrong_count ? Cause::malformed_answer : Cause::not_finite;
  return result;
}

Decoded decoded(const Bits& bits, std::size_t offset) {
  if (offset >= bits.size()) return {{}, Cause::malformed_answer, {}};
  return {static_cast<double>(bits[offset]), Cause::none, {bits[offset]}};
}

Decoded decoded(const SerialLines& wire, const std::string& line, std::size_t offset) {
  const auto values = line_values(wire, line);
  if (!values || offset >= values->size()) return {{}, Cause::unreadable_text, {}};
  const std::optional<double> number = (*values)[offset];
  if (!number) return {{}, Cause::overload, {}};
  const auto bits = std::bit_cast<std::uint64_t>(*number);
  const auto word = [&](int place) { return static_cast<std::uint16_t>(bits >> (16 * place)); };
  return {number, Cause::none, {word(3), word(2), word(1), word(0)}};
}

Decoded decoded(const Job& job, const Scan& scan, const Block& block, const Block::ChannelPlace& place) {
  const Channel& channel = job.rig.channels[place.channel.at()];
  const auto offset = static_cast<std::size_t>(place.offset);
  if (const auto* words = std::get_if<Words>(&scan.raw)) return decoded(channel, *words, offset);
  if (const auto* bits = std::get_if<Bits>(&scan.raw)) return decoded(*bits, offset);
  const bool has_bus = block.bus.at() < job.rig.buses.size();
  const auto* wire = has_bus ? std::get_if<SerialLines>(&job.rig.buses[block.bus.at()].wire) : nullptr;
  if (wire == nullptr) return {{}, Cause::unreadable_text, {}};
  return decoded(*wire, std::get<std::string>(scan.raw), offset);
}

// ---- What a channel remembers ----

Cause cause_of(Flaw flaw) {
  switch (flaw) {
    case Flaw::none: return Cause::stale;
    case Flaw::not_connected: return Cause::not_connected;
    case Flaw::no_answer: return Cause::no_answer;
    case Flaw::late: case Flaw::foreign: return Cause::foreign_answer;
    case Flaw::malformed: return Cause::malformed_answer;
    case Flaw::exception_refused: return Cause::exception_refused;
    case Flaw::exception_failed: return Cause::exception_failed;
    case Flaw::exception_busy: return Cause::exception_busy;
    case Flaw::exception_gateway: return Cause::exception_gateway;
    case Flaw::garbled: return Cause::garbled_answer;
    case Flaw::wrong_instrument: return Cause::wrong_instrument;
    case Flaw::line_in_use: return Cause::line_in_use;
    case Flaw::line_changed: return Cause::line_changed;
    case Flaw::energised_by_another: break;  // No channel's.
  }
  return Cause::stale;
}

void lose_number(ChannelState& state, Cause cause) {
  state.stale_at.reset();
  state.due_at.reset();
  state.recent.clear();
  state.reading.quality = Quality::bad;
  state.reading.cause = state.segment.unproved ? Cause::being_swapped : cause;
  state.reading.saturated = Saturation::none;
  state.steadied = state.reading;
  if (!state.segment.swap) return;
  Swap& swap = *state.segment.swap;
  swap.shown = bad_reading(cause, swap.shown.value.dimension, swap.shown.newest);
  swap.standing = {};
}

void take_flaw(ChannelState& state, Flaw flaw) {
  ++state.lost;
  state.flaw = flaw;
  const bool says_there_is_none = flaw == Flaw::exception_refused || flaw == Flaw::exception_failed ||
                                   flaw == Flaw::wrong_instrument;
  if (says_there_is_none || !state.stale_at) lose_number(state, cause_of(flaw));
}

double resolution_of(const Channel& channel) {
  return channel.resolution > 0 ? channel.resolution : grid_step(channel.dimension);
}

void note_change(ChannelState& state, const Channel& channel) {
  const bool numbers = state.reading.has_number() && state.earlier.has_number();
  const double change = numbers ? state.reading.value.si - state.earlier.value.si : 0;
  const auto is_large = [&](double by) {
    return !exceeds({channel.dimension, turn_steps * resolution_of(channel)}, {channel.dimension, by < 0 ? -by : by});
  };
  state.turned_back = change * state.last_change < 0 && is_large(change) && is_large(state.last_change);
  state.last_change = change;
}

// What an instrument shows that is being swapped in proves it, and is no value.
Reading value_of(ChannelState& state, const Channel& channel, const Reading& shown, WallTime wall) {
  Segment& segment = state.segment;
  if (segment.swap) {
    segment.swap->shown = shown;
    segment.swap->standing.add(shown, still_within(channel));
  }
  if (segment.unproved) return bad_reading(Cause::being_swapped, channel.dimension, shown.newest);
  Reading value = joined(shown, segment);
  if (certificate_overdue(certificate_in_place(channel, segment), wall)) add_doubt(value, Cause::certificate_overdue);
  return value;
}

void take_answer(ChannelState& state, const Channel& channel, const Decoded& answer, TakenAt taken) {
  const bool changed = !state.unchanged_since || answer.raw != state.raw;
  if (changed) {
    state.raw = answer.raw;
    state.unchanged_since = taken.at;
    state.frozen = false;
    for (Partner& partner : state.partners) partner.then.reset();
  }
  state.flaw = Flaw::none;
  state.stale_at = taken.at + state.stale_after;
  state.earlier = state.reading;
  const Reading shown = answer.number ? scaled_reading(channel, *answer.number, taken.at)
                                      : bad_reading(answer.fault, channel.dimension, taken.at);
  state.reading = value_of(state, channel, shown, taken.wall);
  if (changed) note_change(state, channel);
}

// Both are needed: a channel that stands bit-identical, and a partner that says it should not.
void judge_frozen(ChannelState& state, const Channel& channel, std::span<const ChannelState> channels, Instant at,
                  bool oil_flows) {
  const bool still = at - *state.unchanged_since >= channel.frozen_after;
  for (Partner& partner : state.partners) {
    const Reading& now = channels[partner.channel].reading;
    if (!now.has_number()) continue;
    if (!partner.then) partner.then = partner.last = now.value.si;
    if (partner.is_pressure && !oil_flows) *partner.then += now.value.si - partner.last;
    partner.last = now.value.si;
    const double risen = now.value.si - *partner.then;
    const double moved = risen < 0 && !partner.is_pressure ? -risen : risen;
    const Dimension dimension = now.value.dimension;
    if (still && !exceeds({dimension, partner.moved}, {dimension, moved})) state.frozen = true;
  }
  if (state.frozen) add_doubt(state.reading, Cause::frozen);
}

void steady(ChannelState& state, int median) {
  state.steadied = state.reading;
  if (median <= 1) return;
  if (state.reading.quality == Quality::bad) return state.recent.clear();
  const auto count = static_cast<std::size_t>(median);
  while (state.recent.size() >= count) state.recent.erase(state.recent.begin());
  state.recent.push_back(state.reading);
  if (state.recent.size() < count) return;

  std::array<const Reading*, most_median> sorted;
  std::transform(state.recent.begin(), state.recent.end(), sorted.begin(), [](const Reading& each) { return &each; });
  std::sort(sorted.begin(), sorted.begin() + median, [](const Reading* a, const Reading* b) { return a->value.si < b->value.si; });
  const Reading& middle = *sorted[count / 2];
  state.steadied.value = middle.value;
  state.steadied.saturated = middle.saturated;
  for (const Reading& each : state.recent) add_doubt(state.steadied, each.cause);
}

// ---- Partners ----

// What is read by hand moves by jumps of hours: it says of nobody that he should have moved meanwhile.
void add_twins(ChannelState& state, const Rig& rig, ChannelId channel) {
  for (const Point& point : rig.points) {
    if (std::find(point.gauges.begin(), point.gauges.end(), channel) == point.gauges.end()) continue;
    for (const ChannelId twin : point.gauges)
      if (twin != channel && rig.channels[twin.at()].bus)
        state.partners.push_back({.channel = twin.number, .moved = frozen_steps * resolution_of(rig.channels[channel.at()])});
  }
}

// How far the pressure must rise until the ram should have gone five steps: as far as the stiffest stretch predicted asks for
// them, and further than friction hides. Where the plan predicts nothing for the jack, friction alone counts.
double rise_of_five_steps(const Job& job, JackId id, double step) {
  const Jack& jack = job.rig.jacks[id.at()];
  const double hidden = friction * jack.planned_share.si() * job.plan.column_expected.si() / jack.area.si();
  return std::max(hidden, frozen_steps * step * stiffest_predicted(job.plan, id).value_or(0) / jack.area.si());
}

void add_pressures(ChannelState& state, const Job& job, ChannelId channel) {
  for (std::size_t j = 0; j < job.rig.jacks.size(); ++j) {
    const Jack& jack = job.rig.jacks[j];
    if (jack.stroke_channel != channel) continue;
    const double rise = rise_of_five_steps(job, JackId{j}, resolution_of(job.rig.channels[channel.at()]));
    if (is_finite(rise) && rise > 0) state.partners.push_back({.channel = jack.advance.number, .moved = rise, .is_pressure = true});
  }
}

// Days since 1970-01-01 in the Gregorian calendar. March begins the year, so that the leap day is its last.
std::int64_t day_number(std::int64_t year, std::int64_t month, std::int64_t day) {
  const std::int64_t y = month <= 2 ? year - 1 : year;
  const std::int64_t century_of_four = (y >= 0 ? y : y - 399) / 400;
  const std::int64_t year_of_era = y - century_of_four * 400;
  const std::int64_t day_of_year = (153 * (month + (month > 2 ? -3 : 9)) + 2) / 5 + day - 1;
  return century_of_four * 146'097 + year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year - 719'468;
}

}  // namespace

Reading scaled_reading(const Channel& channel, double raw, Instant at) {
  const double accuracy = channel.accuracy.value_or(0), resolution = channel.resolution;
  // Rectangular: half width a gives a / sqrt(3), full width r gives r / sqrt(12). JCGM 100:2008, 4.3.7 and F.2.2.1.
  const double uncertainty = std::sqrt(accuracy * accuracy / 3 + resolution * resolution / 12);
  Reading reading{Quality::good, Cause::none, {channel.dimension, 0}, uncertainty, Saturation::none, false, at, at};
  double on_wire = raw;
  if (channel.scale.loop) {
    on_wire = raw / channel.scale.counts_per_mA * 1e-3;  // A.
    const Cause cause = loop_cause(on_wire);
    if (doubt_of(cause).quality == Quality::bad) return bad_reading(cause, channel.dimension, at);
    add_doubt(reading, cause);
  }
  reading.value.si = on_scale(channel.scale, on_wire);
  judge_range(reading, channel);
  return reading;
}

bool certificate_overdue(const Certificate& certificate, WallTime wall) {
  const std::string& due = certificate.due;
  if (due.size() != 10) return false;  // The loader has refused any other form; empty: none was stated.
  const auto number = [&](std::size_t from, std::size_t count) {
    std::int64_t n = 0;
    for (std::size_t i = from; i < from + count; ++i) n = n * 10 + (due[i] - '0');
    return n;
  };
  constexpr std::int64_t day_ns = hours(24).ns;
  const std::int64_t today = wall.ns >= 0 ? wall.ns / day_ns : -((-wall.ns + day_ns - 1) / day_ns);
  return today > day_number(number(0, 4), number(5, 2), number(8, 2));
}

std::vector<ChannelState> start_channels(const Job& job) {
  std::vector<ChannelState> channels(job.rig.channels.size());
  for (std::size_t i = 0; i < channels.size(); ++i) {
    const Channel& channel = job.rig.channels[i];
    channels[i].every = channel.every;
    channels[i].stale_after = channel.stale_after;
    channels[i].reading.value.dimension = channel.dimension;
    channels[i].earlier = channels[i].steadied = channels[i].reading;
    add_twins(channels[i], job.rig, ChannelId{i});
    add_pressures(channels[i], job, ChannelId{i});
  }
  set_step_roles(channels, job.rig);
  return channels;
}

void take_scan(std::span<ChannelState> channels, const Job& job, const Scan& scan, TakenAt taken, bool oil_flows) {
  if (scan.block.at() >= job.polls.blocks.size()) return;  // Of a revision that is no longer in force.
  const Block& block = job.polls.blocks[scan.block.at()];
  const auto is_fresh = [&](const Block::ChannelPlace& place) {
    return scan.flaw == Flaw::none && channels[place.channel.at()].flaw == Flaw::none;
  };
  for (const Block::ChannelPlace& place : block.channels) {
    ChannelState& state = channels[place.channel.at()];
    const Channel& channel = job.rig.channels[place.channel.at()];
    const Decoded answer = scan.flaw != Flaw::none ? Decoded{} : decoded(job, scan, block, place);
    if (scan.flaw != Flaw::none) take_flaw(state, scan.flaw);
    else if (answer.fault == Cause::malformed_answer) take_flaw(state, Flaw::malformed);
    else take_answer(state, channel, answer, taken);
  }
  for (const Block::ChannelPlace& place : block.channels)
    if (is_fresh(place)) {
      ChannelState& state = channels[place.channel.at()];
      judge_frozen(state, job.rig.channels[place.channel.at()], channels, taken.at, oil_flows);
      steady(state, job.rig.channels[place.channel.at()].median);
    }
}

void forget_reading(ChannelState& state, Dimension dimension, Instant now) {
  const Segment& segment = state.segment;
  state.reading = bad_reading(segment.unproved ? Cause::being_swapped : Cause::never_read, dimension, now);
  state.earlier = state.steadied = state.reading;
  state.recent.clear();
  state.stale_at.reset();
  if (!state.segment.swap) return;
  state.segment.swap->shown = bad_reading(Cause::never_read, dimension, now);
  state.segment.swap->standing = {};
}

void age_channels(std::span<ChannelState> channels, Instant now) {
  for (ChannelState& state : channels) {
    if (state.due_at && now >= *state.due_at) fall_due(state);
    if (state.stale_at && now >= *state.stale_at) lose_number(state, cause_of(state.flaw));
  }
}

void set_polls(std::span<ChannelState> channels, const Job& job, const Stage& stage, Instant now) {
  for (std::size_t i = 0; i < channels.size(); ++i) {
    channels[i].every = job.rig.channels[i].every;
    channels[i].stale_after = job.rig.channels[i].stale_after;
  }
  for (const Poll& poll : stage.polls) {
    ChannelState& state = channels[poll.channel.at()];
    state.every = poll.every;
    state.stale_after = poll.stale_after;
  }
  for (std::size_t i = 0; i < channels.size(); ++i) {
    ChannelState& state = channels[i];
    if (!job.rig.channels[i].bus) set_due(state);
    // An old answer counts no longer than a new one would from now on.
    else if (state.stale_at)
      state.stale_at = std::max(state.reading.newest + state.stale_after, std::min(*state.stale_at, now + state.stale_after));
  }
}

}  // namespace standfast
