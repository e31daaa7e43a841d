// When each block of a bus is due. A poll that comes late is not made up for, so that a bus that returns after minutes
// is not flooded with the polls it missed.
#pragma once

#include <algorithm>
#include <cstddef>
#include <utility>
#include <vector>

#include "config/instant.hpp"

namespace standfast {

class PollSchedule {
 public:
  PollSchedule(std::vector<Duration> periods, Instant start)
      : periods_{std::move(periods)}, due_(periods_.size(), start) {}

  // A block whose period changed is due after the new period at the latest.
  void set_periods(std::vector<Duration> periods, Instant now) {
    for (std::size_t i = 0; i < due_.size(); ++i)
      if (periods[i] != periods_[i]) due_[i] = std::min(due_[i], now + periods[i]);
    periods_ = std::move(periods);
  }

  struct Due { std::size_t block; Instant at; };
  // The block that is due first; of several the one stated first. Needs at least one block.
  Due next() const {
    const auto first = std::min_element(due_.begin(), due_.end());
    return {static_cast<std::size_t>(first - due_.begin()), *first};
  }
  void asked(std::size_t block, Instant now) { due_[block] = std::max(due_[block] + periods_[block], now); }

 private:
  std::vector<Duration> periods_;
  std::vector<Instant> due_;
};

}  // namespace standfast
