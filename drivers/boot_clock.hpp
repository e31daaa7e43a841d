// The clocks of this machine: the one that decisions run on, and what the wall says.
#pragma once

#include "drivers/driver.hpp"

namespace standfast {

class BootClock final : public Clock {  // CLOCK_BOOTTIME: counts through suspend, never steps. Any thread.
 public:
  [[nodiscard]] Instant now() const override;
};

// CLOCK_REALTIME, UTC. May step either way; decides nothing.
[[nodiscard]] WallTime wall_time_now();

}  // namespace standfast
