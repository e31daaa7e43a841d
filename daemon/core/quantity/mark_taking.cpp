#include "daemon/core/quantity/mark_taking.hpp"

#include <algorithm>

#include "daemon/core/quantity/evaluate.hpp"

namespace standfast {
namespace {

std::vector<std::optional<MarkValue>> values_of(const std::vector<MarkWindow>& windows, Instant now) {
  std::vector<std::optional<MarkValue>> values(windows.size());
  for (std::size_t i = 0; i < windows.size(); ++i)
    if (windows[i].full(now)) values[i] = windows[i].value(now);
  return values;
}

std::optional<MarkValue> of_now(const Reading& reading) {
  if (reading.quality != Quality::good) return std::nullopt;
  return MarkValue{reading.value.si, 0, 1, reading.newest};
}

}  // namespace

MarkTaking start_mark(const Job& job, Instant from, Duration window) {
  const MarkWindow empty{.from = from, .window = window};
  MarkTaking mark{std::vector(job.rig.channels.size(), empty), std::vector(job.rig.jacks.size(), empty)};
  for (std::size_t c = 0; c < mark.channels.size(); ++c) mark.channels[c].by_hand = !job.rig.channels[c].bus;
  return mark;
}

void take_mark(MarkTaking& mark, const Scan& scan, const ValueContext& context) {
  const Job& job = context.job;
  if (scan.flaw != Flaw::none || scan.block.at() >= job.polls.blocks.size()) return;
  for (const Block::ChannelPlace& place : job.polls.blocks[scan.block.at()].channels)
    mark.channels[place.channel.at()].add(context.values.channels[place.channel.at()].reading);
  for (std::size_t j = 0; j < job.rig.jacks.size(); ++j) mark.loads[j].add(load_of(JackId{j}, context).high);
}

bool mark_full(const MarkTaking& mark, const CountedFrom& needed, Instant now) {
  return std::all_of(needed.channels.begin(), needed.channels.end(),
                     [&](ChannelId channel) { return mark.channels[channel.at()].full(now); }) &&
         std::all_of(needed.loads.begin(), needed.loads.end(), [&](JackId jack) { return mark.loads[jack.at()].full(now); });
}

MarkValues mark_values(const MarkTaking& mark, Instant now) {
  return {values_of(mark.channels, now), values_of(mark.loads, now)};
}

MarkValues mark_of_now(const ValueContext& context) {
  MarkValues values;
  for (const ChannelState& channel : context.values.channels) values.channels.push_back(of_now(channel.reading));
  for (std::size_t j = 0; j < context.job.rig.jacks.size(); ++j) values.loads.push_back(of_now(load_of(JackId{j}, context).high));
  return values;
}

}  // namespace standfast
