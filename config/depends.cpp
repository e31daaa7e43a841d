#include "config/depends.hpp"

#include <algorithm>

namespace standfast {
namespace {

void add_load(std::vector<ChannelId>& channels, const Jack& jack) {
  channels.push_back(jack.advance);
  if (jack.retract) channels.push_back(*jack.retract);
}

void add_travel(std::vector<ChannelId>& channels, const Jack& jack) {
  if (jack.stroke_channel) channels.push_back(*jack.stroke_channel);
}

void add_all_loads(std::vector<ChannelId>& channels, const Rig& rig) {
  for (const Jack& jack : rig.jacks) add_load(channels, jack);
}

void add(std::vector<ChannelId>& channels, const QuantityRef& quantity, const Rig& rig) {
  const auto& subjects = quantity.subjects;
  switch (quantity.kind) {
    case QuantityKind::pressure:
      channels.push_back(rig.jacks[subjects[0]].advance);
      return;
    case QuantityKind::load: case QuantityKind::load_lost:
      add_load(channels, rig.jacks[subjects[0]]);
      return;
    case QuantityKind::pressure_spread:
      for (const JackId jack : rig.circuits[subjects[0]].jacks) channels.push_back(rig.jacks[jack.at()].advance);
      return;
    case QuantityKind::supply:
      for (const JackId jack : rig.circuits[subjects[0]].jacks) channels.push_back(rig.jacks[jack.at()].advance);
      channels.push_back(*rig.circuits[subjects[0]].supply);
      return;
    case QuantityKind::circuit_load:
      for (const JackId jack : rig.circuits[subjects[0]].jacks) add_load(channels, rig.jacks[jack.at()]);
      return;
    case QuantityKind::group_load:
      for (const JackId jack : rig.groups[subjects[0]].jacks) add_load(channels, rig.jacks[jack.at()]);
      return;
    case QuantityKind::total_load: case QuantityKind::share: case QuantityKind::transferred:
      add_all_loads(channels, rig);
      return;
    case QuantityKind::movement: case QuantityKind::differential: case QuantityKind::tilt: case QuantityKind::warp:
    case QuantityKind::creep: case QuantityKind::agreement:
      for (const auto point : subjects)
        channels.insert(channels.end(), rig.points[point].gauges.begin(), rig.points[point].gauges.end());
      return;
    case QuantityKind::travel: case QuantityKind::travel_left:
      add_travel(channels, rig.jacks[subjects[0]]);
      return;
    case QuantityKind::predicted_departure: case QuantityKind::stiffness_ratio:
      add_load(channels, rig.jacks[subjects[0]]);
      add_travel(channels, rig.jacks[subjects[0]]);
      return;
    case QuantityKind::temperature: case QuantityKind::temperature_change: case QuantityKind::channel:
      channels.push_back(ChannelId{subjects[0]});
      return;
  }
}

void tidy(std::vector<ChannelId>& channels) {
  std::sort(channels.begin(), channels.end());
  channels.erase(std::unique(channels.begin(), channels.end()), channels.end());
}

}  // namespace

std::vector<ChannelId> channels_of(const QuantityRef& quantity, const Rig& rig) {
  std::vector<ChannelId> channels;
  add(channels, quantity, rig);
  tidy(channels);
  return channels;
}

bool is_by_gauge(QuantityKind kind) {
  return kind == QuantityKind::movement || kind == QuantityKind::differential || kind == QuantityKind::tilt ||
         kind == QuantityKind::warp;
}

void join(std::vector<ChannelId>& channels, const std::vector<ChannelId>& more) {
  channels.insert(channels.end(), more.begin(), more.end());
  tidy(channels);
}

}  // namespace standfast
