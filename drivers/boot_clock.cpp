#include "drivers/boot_clock.hpp"

#include <time.h>

#include "config/ensure.hpp"

namespace standfast {

namespace {

std::int64_t nanoseconds_of(clockid_t clock) {
  timespec time{};
  ENSURE(clock_gettime(clock, &time) == 0);  // Fails only for a clock that the kernel does not have.
  return std::int64_t{time.tv_sec} * 1'000'000'000 + time.tv_nsec;
}

}  // namespace

Instant BootClock::now() const { return {nanoseconds_of(CLOCK_BOOTTIME)}; }

WallTime wall_time_now() { return {nanoseconds_of(CLOCK_REALTIME)}; }

}  // namespace standfast
