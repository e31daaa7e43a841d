#include "daemon/core/limit.hpp"

#include <algorithm>

namespace standfast {
namespace {

constexpr int fill_speed = 4;  // Quarters a nanosecond while beyond; while within one drains.

std::int64_t full(const LevelInForce& level) { return level.persist.ns * fill_speed; }

bool beyond_above(const LevelInForce& level, const Reading& r, double slack) {
  if (!level.above || r.quality == Quality::bad) return false;
  if (r.saturated == Saturation::high) return true;
  const double guard = level.guard_uncertainty ? 2 * r.uncertainty : 0;
  return r.has_number() && exceeds(r.value, {level.above->dimension, level.above->si - slack - guard});
}

bool beyond_below(const LevelInForce& level, const Reading& r, double slack) {
  if (!level.below || r.quality == Quality::bad) return false;
  if (r.saturated == Saturation::low) return true;
  const double guard = level.guard_uncertainty ? 2 * r.uncertainty : 0;
  return r.has_number() && exceeds({level.below->dimension, level.below->si + slack + guard}, r.value);
}

Quality worst(const Judged& value) { return std::max(value.high.quality, value.low.quality); }

void trip_if_full(const LevelInForce& level, Watch& watch) {
  if (watch.active || watch.quarters < full(level) || watch.beyond_readings < least_readings_to_trip) return;
  watch.active = true;
  watch.within_since.reset();
}

void count_beyond(Watch& watch, const Seen& seen) {
  if (watch.beyond_readings == 0) watch.first_beyond = seen.newest;
  else if (seen.evidence == Evidence::repeated) return;
  if (watch.beyond_readings < least_readings_to_trip) ++watch.beyond_readings;
}

// A clearance needs good readings, all of them within the bound less its deadband, for `clear_after`.
void clear_if_within(const LevelInForce& level, Watch& watch, const Judged& value, Instant now) {
  if (worst(value) != Quality::good || is_beyond(level, value, level.deadband)) {
    watch.within_since.reset();
    return;
  }
  if (!watch.within_since) watch.within_since = now;
  if (now - *watch.within_since < level.clear_after) return;
  watch = Watch{.at = now};
}

}  // namespace

bool is_beyond(const LevelInForce& level, const Judged& value, double slack) {
  return beyond_above(level, value.high, slack) || beyond_below(level, value.low, slack);
}

bool cannot_exclude(const LevelInForce& level, const Judged& value) {
  if (level.guard_uncertainty || is_beyond(level, value, 0)) return false;
  LevelInForce moved = level;
  moved.guard_uncertainty = true;
  return is_beyond(moved, value, 0);
}

Watch passed(const LevelInForce& level, Watch watch, Instant now) {
  const std::int64_t elapsed = (now - watch.at).ns;
  if (elapsed <= 0) return watch;
  watch.at = now;
  if (watch.filling == Filling::filling) {
    const std::int64_t missing = full(level) - watch.quarters;
    watch.quarters = elapsed >= missing / fill_speed + 1 ? full(level) : std::min(full(level), watch.quarters + elapsed * fill_speed);
  } else if (watch.filling == Filling::draining) {
    watch.quarters = std::max<std::int64_t>(0, watch.quarters - elapsed);
    if (watch.quarters == 0) watch.beyond_readings = 0;
  }
  trip_if_full(level, watch);
  return watch;
}

Watch observed(const LevelInForce& level, Watch watch, const Judged& value, Instant now, const Seen& seen) {
  if (value.high.quality == Quality::bad && value.low.quality == Quality::bad) {
    if (watch.filling == Filling::draining) watch.filling = Filling::standing;
    watch.within_since.reset();
    return watch;
  }
  if (is_beyond(level, value, 0)) {
    count_beyond(watch, seen);
    watch.filling = Filling::filling;
  } else {
    watch.filling = watch.quarters > 0 ? Filling::draining : Filling::idle;
    if (watch.quarters == 0) watch.beyond_readings = 0;
  }
  trip_if_full(level, watch);
  if (watch.active) clear_if_within(level, watch, value, now);
  return watch;
}

Watch tripped_by_entry(const LevelInForce& level, Watch watch, Instant newest) {
  if (watch.beyond_readings == 0) watch.first_beyond = newest;
  watch.beyond_readings = least_readings_to_trip;
  watch.quarters = full(level);
  watch.filling = Filling::filling;
  watch.within_since.reset();
  trip_if_full(level, watch);
  return watch;
}

Watch out_of_force(Watch watch) {
  if (watch.active) return Watch{.at = watch.at};
  watch.filling = watch.quarters > 0 ? Filling::draining : Filling::idle;
  if (watch.quarters == 0) watch.beyond_readings = 0;
  return watch;
}

std::optional<Instant> trips_at(const LevelInForce& level, const Watch& watch) {
  if (watch.active || watch.filling != Filling::filling || watch.beyond_readings < least_readings_to_trip) return std::nullopt;
  const std::int64_t missing = full(level) - watch.quarters;
  if (missing <= 0) return watch.at;
  return watch.at + nanoseconds((missing + fill_speed - 1) / fill_speed);
}

}  // namespace standfast
