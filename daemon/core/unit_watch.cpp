#include "daemon/core/unit_watch.hpp"

#include <algorithm>

#include "daemon/core/doubt.hpp"

namespace standfast {
namespace {

bool same_unit(const Block& a, const Block& b) { return a.bus == b.bus && a.unit_id == b.unit_id; }

// The block that stands for the unit of this one.
std::size_t unit_of(const PollPlan& polls, const Block& block) {
  const auto first = std::find_if(polls.blocks.begin(), polls.blocks.end(),
                                  [&](const Block& other) { return !other.channels.empty() && same_unit(other, block); });
  return static_cast<std::size_t>(first - polls.blocks.begin());
}

struct Seen { bool changed, turned_back; };

void learn(UnitWatch& watch, Instant at) {
  if (!watch.turned_at || at - *watch.turned_at > flickers_apart) watch.turned_since = at;
  watch.turned_at = at;
  if (at - *watch.turned_since >= flickers_for) watch.flickers = true;
}

void take_answer(UnitWatch& watch, Seen seen, Instant at, bool oil_flows) {
  if (seen.turned_back && !oil_flows) learn(watch, at);
  if (seen.changed && watch.frozen) watch = {};
  if (seen.changed || !watch.still_since) watch.still_since = at;
  if (watch.flickers && at - *watch.still_since >= unit_frozen_after) watch.frozen = true;
}

Seen seen_in(const Block& block, std::span<const ChannelState> channels, Instant at) {
  Seen seen{false, false};
  for (const Block::ChannelPlace& place : block.channels) {
    const ChannelState& channel = channels[place.channel.at()];
    const bool changed = channel.flaw == Flaw::none && channel.unchanged_since == at;
    seen.changed = seen.changed || changed;
    seen.turned_back = seen.turned_back || (changed && channel.turned_back);
  }
  return seen;
}

std::vector<ChannelId> channels_of(const Job& job, const Block& any, bool whole_bus) {
  std::vector<ChannelId> channels;
  for (const Block& block : job.polls.blocks)
    if (whole_bus ? block.bus == any.bus : same_unit(block, any))
      for (const Block::ChannelPlace& place : block.channels) channels.push_back(place.channel);
  return channels;
}

}  // namespace

UnitWatches new_unit_watches(const Job& job) {
  UnitWatches watches;
  watches.units.resize(job.polls.blocks.size());
  watches.buses.resize(job.rig.buses.size());
  return watches;
}

void watch_units(UnitWatches& watches, std::span<ChannelState> channels, const Job& job, const Scan& scan, Instant taken_at,
                 bool oil_flows) {
  if (scan.block.at() >= job.polls.blocks.size()) return;  // Of a revision that is no longer in force.
  const Block& block = job.polls.blocks[scan.block.at()];
  if (block.channels.empty() || block.bus.at() >= watches.buses.size()) return;
  UnitWatch &unit = watches.units[unit_of(job.polls, block)], &bus = watches.buses[block.bus.at()];
  if (scan.flaw != Flaw::none) {
    // A unit that is dead for good says once that polls fail; it must not hide a gateway that stands still.
    if (unit.still_since) bus.still_since.reset();
    unit.still_since.reset();
    return;
  }
  const Seen seen = seen_in(block, channels, taken_at);
  for (UnitWatch* watch : {&unit, &bus}) take_answer(*watch, seen, taken_at, oil_flows);
  if (!unit.frozen && !bus.frozen) return;
  for (const Block::ChannelPlace& place : block.channels) {
    ChannelState& channel = channels[place.channel.at()];
    if (channel.flaw != Flaw::none || channel.reading.quality == Quality::bad) continue;
    add_doubt(channel.reading, Cause::unit_frozen);
    add_doubt(channel.steadied, Cause::unit_frozen);
  }
}

std::vector<FrozenUnit> frozen_units(const UnitWatches& watches, const Job& job) {
  std::vector<FrozenUnit> frozen;
  const auto is_frozen = [](const UnitWatch& watch) { return watch.frozen; };
  if (std::none_of(watches.units.begin(), watches.units.end(), is_frozen) &&
      std::none_of(watches.buses.begin(), watches.buses.end(), is_frozen))
    return frozen;
  std::vector<bool> told(watches.buses.size(), false);
  for (std::size_t i = 0; i < watches.units.size(); ++i) {
    const Block& block = job.polls.blocks[i];
    const std::string bus = "bus " + job.rig.buses[block.bus.at()].name;
    const std::size_t b = block.bus.at();
    if (watches.buses[b].frozen) {
      if (!told[b]) frozen.push_back({bus, channels_of(job, block, true)});
      told[b] = true;
    } else if (watches.units[i].frozen) {
      frozen.push_back({"unit " + std::to_string(block.unit_id) + " on " + bus, channels_of(job, block, false)});
    }
  }
  return frozen;
}

}  // namespace standfast
