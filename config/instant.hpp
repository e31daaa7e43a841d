// Time. Decisions run on `Instant`, a clock that counts through suspend and never goes back (CLOCK_BOOTTIME);
// `WallTime` is what the wall says (UTC) and decides nothing. Both are whole nanoseconds, so budgets are exact.
#pragma once

#include <compare>
#include <cstdint>

namespace standfast {

struct Duration {
  std::int64_t ns{0};
  friend constexpr auto operator<=>(Duration, Duration) = default;
  friend constexpr Duration operator+(Duration a, Duration b) { return {a.ns + b.ns}; }
  friend constexpr Duration operator-(Duration a, Duration b) { return {a.ns - b.ns}; }
  friend constexpr Duration operator*(Duration a, std::int64_t n) { return {a.ns * n}; }
  friend constexpr Duration operator/(Duration a, std::int64_t n) { return {a.ns / n}; }
  constexpr double seconds() const { return static_cast<double>(ns) / 1e9; }
};

constexpr Duration nanoseconds(std::int64_t n) { return {n}; }
constexpr Duration microseconds(std::int64_t n) { return {n * 1'000}; }
constexpr Duration milliseconds(std::int64_t n) { return {n * 1'000'000}; }
constexpr Duration seconds(std::int64_t n) { return {n * 1'000'000'000}; }
constexpr Duration minutes(std::int64_t n) { return seconds(n * 60); }
constexpr Duration hours(std::int64_t n) { return minutes(n * 60); }

struct Instant {
  std::int64_t ns{0};  // Since boot.
  friend constexpr auto operator<=>(Instant, Instant) = default;
  friend constexpr Instant operator+(Instant a, Duration d) { return {a.ns + d.ns}; }
  friend constexpr Instant operator-(Instant a, Duration d) { return {a.ns - d.ns}; }
  friend constexpr Duration operator-(Instant a, Instant b) { return {a.ns - b.ns}; }
};

struct WallTime {
  std::int64_t ns{0};  // Since 1970-01-01T00:00:00Z, leap seconds not counted.
  friend constexpr auto operator<=>(WallTime, WallTime) = default;
};

}  // namespace standfast
