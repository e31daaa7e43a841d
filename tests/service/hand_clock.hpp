// A clock that only the test moves; any thread may read it.
#pragma once

#include <atomic>

#include "drivers/driver.hpp"

namespace standfast {

class HandClock final : public Clock {
 public:
  Instant now() const override { return {ns_.load()}; }
  void pass(Duration by) { ns_ += by.ns; }
  WallTime wall() const { return {1'800'000'000'000'000'000 + ns_.load() + step_.load()}; }
  void step_wall(Duration by) { step_ += by.ns; }

 private:
  std::atomic<std::int64_t> ns_{1'000'000'000'000}, step_{0};
};

}  // namespace standfast
