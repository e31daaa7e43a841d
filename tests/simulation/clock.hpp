// The only clocks of a simulated life: one that nobody but the simulation moves, and the wall's, which may be set.
#pragma once

#include "drivers/driver.hpp"

namespace standfast::test {

class MovedClock final : public Clock {
 public:
  [[nodiscard]] Instant now() const override { return now_; }
  [[nodiscard]] WallTime wall() const { return wall_; }
  void pass(Duration time) {
    now_ = now_ + time;
    wall_.ns += time.ns;
  }
  void go_to(Instant at) {
    if (at > now_) pass(at - now_);
  }
  void step_wall(Duration by) { wall_.ns += by.ns; }
  // The machine starts anew: its clock begins again.
  void begin_anew() { now_ = Instant{} + seconds(20); }

 private:
  Instant now_{Instant{} + seconds(1000)};
  WallTime wall_{1'800'000'000'000'000'000};
};

}  // namespace standfast::test
