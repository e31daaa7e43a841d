#include "config/poll_periods.hpp"

#include <algorithm>

namespace standfast {

std::vector<Duration> poll_periods(const PollPlan& polls, const Stage* stage) {
  const auto stated = [stage](ChannelId channel, Duration otherwise) {
    if (stage)
      for (const Poll& poll : stage->polls)
        if (poll.channel == channel) return poll.every;
    return otherwise;
  };
  std::vector<Duration> periods;
  for (const Block& block : polls.blocks) {
    std::optional<Duration> shortest;
    if (!block.inputs.empty() || block.channels.empty()) shortest = block.every;
    for (const auto& place : block.channels) {
      const Duration every = stated(place.channel, block.every);
      shortest = shortest ? std::min(*shortest, every) : every;
    }
    periods.push_back(*shortest);
  }
  return periods;
}

std::vector<Duration> channel_periods(const Rig& rig, const PollPlan& polls, const Stage* stage) {
  std::vector<Duration> periods;
  for (const Channel& channel : rig.channels) periods.push_back(channel.every);
  if (stage)
    for (const Poll& poll : stage->polls) periods[poll.channel.at()] = poll.every;
  const std::vector<Duration> of_blocks = poll_periods(polls, stage);
  for (std::size_t i = 0; i < of_blocks.size(); ++i)
    for (const auto& place : polls.blocks[i].channels) periods[place.channel.at()] = of_blocks[i];
  return periods;
}

}  // namespace standfast
