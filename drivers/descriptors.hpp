// What every wire needs of its descriptor: to wait by our own clock, to be few, to try again with growing pauses.
#pragma once

#include <algorithm>

#include "drivers/driver.hpp"

namespace standfast {

// libmodbus waits with select(), which writes beyond its set for a descriptor from 1024 on.
inline constexpr int most_descriptors = 1024;
// False where the next descriptor would come near that; the margin is for those that other threads open in between.
[[nodiscard]] bool descriptors_low_enough();

// The kernel's waits do not count through suspend: each is at most this long, and then our own clock is looked at.
inline constexpr Duration longest_kernel_wait = milliseconds(50);

// True if the descriptor is ready (POLLIN, POLLOUT), or broken, which the next call on it says. False at the deadline by our
// own clock.
[[nodiscard]] bool wait_ready(int descriptor, short for_what, Instant deadline, const Clock& clock);

// The call that failed would have had to wait: nothing is wrong. Of errno.
[[nodiscard]] bool would_block(int error);

// After each failed attempt the next one is due only after a pause, which grows from 0.1 s to 1 s.
class RetryPause {
 public:
  bool over(Instant now) const { return now >= next_; }
  void failed(Instant now) {
    pause_ = std::clamp(pause_ * 2, milliseconds(100), seconds(1));
    next_ = now + pause_;
  }
  void succeeded() { pause_ = {}; }

 private:
  Duration pause_{};
  Instant next_{};
};

}  // namespace standfast
