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

}  // namespace standfast
