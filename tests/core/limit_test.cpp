#include "daemon/core/limit.hpp"
#include "daemon/core/limits_in_force.hpp"

#include <catch2/catch.hpp>

using namespace standfast;

namespace {

constexpr Dimension length{Base::length, Per::none};

Reading metres(double si, Quality quality = Quality::good) {
  return {.quality = quality, .cause = Cause::none, .value = {length, si}};
}
Judged both(const Reading& r) { return {r, r}; }

LevelInForce above(double si, Duration persist) { return {.above = Amount{length, si}, .persist = persist}; }

// A level fed by hand: time runs only where the test says so.
struct Fed {
  LevelInForce level;
  Watch watch{};
  Instant now{};

  void read(const Reading& r, Evidence evidence = Evidence::fresh) {
    watch = observed(level, passed(level, watch, now), both(r), now, {evidence, now});
  }
  void wait(Duration d) { now = now + d; }
  void tick() { watch = passed(level, watch, now); }
};

const Reading beyond = metres(0.002), within = metres(0.0);

}  // namespace

TEST_CASE("a value exactly at the limit is within; the next step of the grid is beyond") {
  const LevelInForce level = above(0.0005, {});
  CHECK_FALSE(is_beyond(level, both(metres(0.0005)), 0));
  CHECK(is_beyond(level, both(metres(0.000500001)), 0));
}

TEST_CASE("one reading alone never trips, however long it stands") {
  Fed fed{above(0.001, seconds(1))};
  fed.read(beyond);
  fed.wait(hours(1));
  fed.tick();
  CHECK_FALSE(fed.watch.active);
  CHECK_FALSE(trips_at(fed.level, fed.watch));
  fed.read(beyond);
  CHECK(fed.watch.active);
}

TEST_CASE("the same reading seen again fills the budget on and is no second reading beyond") {
  Fed fed{above(0.001, seconds(1))};
  fed.read(beyond);
  fed.wait(seconds(2));
  fed.read(beyond, Evidence::repeated);
  CHECK_FALSE(fed.watch.active);
  fed.read(beyond);
  CHECK(fed.watch.active);
}

TEST_CASE("a budget trips at the instant it is full, between readings") {
  Fed fed{above(0.001, seconds(1))};
  fed.read(beyond);
  fed.wait(milliseconds(300));
  fed.read(beyond);
  REQUIRE(trips_at(fed.level, fed.watch));
  CHECK(*trips_at(fed.level, fed.watch) == Instant{} + seconds(1));
  fed.now = Instant{} + seconds(1) - nanoseconds(1);
  fed.tick();
  CHECK_FALSE(fed.watch.active);
  fed.wait(nanoseconds(1));
  fed.tick();
  CHECK(fed.watch.active);
}

TEST_CASE("ticks inserted anywhere change neither the trip nor its instant") {
  for (const std::int64_t every_us : {1, 7, 333, 40'000}) {
    Fed with{above(0.001, milliseconds(500))}, without = with;
    for (int i = 0; i < 20; ++i) {
      const Reading& r = i % 3 == 0 ? within : beyond;
      with.read(r);
      without.read(r);
      const Instant until = with.now + milliseconds(60);
      for (with.now = with.now + microseconds(every_us); with.now < until; with.now = with.now + microseconds(every_us * 997)) with.tick();
      with.now = without.now = until;
      CHECK(trips_at(with.level, passed(with.level, with.watch, until)) ==
            trips_at(without.level, passed(without.level, without.watch, until)));
    }
    CHECK(passed(with.level, with.watch, with.now).quarters == passed(without.level, without.watch, without.now).quarters);
  }
}

// Square wave, period a tenth of `persist`, read a hundred times a period.
static bool trips_in_a_day(int percent_beyond) {
  Fed fed{above(0.001, seconds(10))};
  const Duration reading = milliseconds(10);
  for (std::int64_t i = 0; i < 24 * 3600 * std::int64_t{100} && !fed.watch.active; ++i) {
    fed.read(i % 100 < percent_beyond ? beyond : within);
    fed.wait(reading);
  }
  return fed.watch.active;
}

TEST_CASE("a flickering violation cannot escape: beyond for 21 percent of the time it trips, for 19 percent never") {
  CHECK(trips_in_a_day(21));
  CHECK_FALSE(trips_in_a_day(19));
}

TEST_CASE("a bad reading neither starts nor clears") {
  Fed fed{above(0.001, seconds(1))};
  fed.read(metres(0.002, Quality::bad));
  CHECK(fed.watch.filling == Filling::idle);
  fed.read(beyond);
  fed.read(beyond);
  fed.wait(seconds(1));
  fed.tick();
  REQUIRE(fed.watch.active);
  fed.read(metres(0.0, Quality::bad));
  fed.wait(hours(1));
  fed.read(metres(0.0, Quality::bad));
  CHECK(fed.watch.active);
}

TEST_CASE("a filling budget fills on while the value is bad, a draining one stands still") {
  Fed filling{above(0.001, seconds(1))};
  filling.read(beyond);
  filling.wait(milliseconds(100));
  filling.read(beyond);
  filling.read(metres(0, Quality::bad));
  filling.wait(milliseconds(900));
  filling.tick();
  CHECK(filling.watch.active);

  Fed draining{above(0.001, seconds(1))};
  draining.read(beyond);
  draining.wait(milliseconds(400));
  draining.read(within);
  draining.wait(milliseconds(400));
  draining.read(metres(0, Quality::bad));
  const std::int64_t kept = draining.watch.quarters;
  CHECK(kept == milliseconds(1200).ns);  // 400 ms filled four-fold, 400 ms drained.
  draining.wait(hours(1));
  draining.tick();
  CHECK(draining.watch.quarters == kept);
}

TEST_CASE("an uncertain value starts and fills like a good one and cannot clear") {
  Fed fed{above(0.001, seconds(1))};
  fed.read(metres(0.002, Quality::uncertain));
  fed.wait(seconds(1));
  fed.read(metres(0.002, Quality::uncertain));
  REQUIRE(fed.watch.active);
  fed.read(metres(0, Quality::uncertain));
  CHECK(fed.watch.active);
  fed.read(within);
  CHECK_FALSE(fed.watch.active);
}

TEST_CASE("crossing from above to below keeps the budget") {
  LevelInForce level = above(0.001, seconds(1));
  level.below = Amount{length, -0.001};
  Fed fed{level};
  fed.read(metres(0.002));
  fed.wait(milliseconds(600));
  fed.read(metres(-0.002));
  fed.wait(milliseconds(400));
  fed.tick();
  CHECK(fed.watch.active);
}

TEST_CASE("the deadband widens the way back and never the way in") {
  LevelInForce level = above(0.001, {});
  level.deadband = 0.0002;
  Fed fed{level};
  fed.read(metres(0.0009));
  fed.read(metres(0.0009));
  CHECK_FALSE(fed.watch.active);
  fed.read(beyond);
  fed.read(beyond);
  REQUIRE(fed.watch.active);
  fed.read(metres(0.0009));
  CHECK(fed.watch.active);
  SECTION("at limit minus deadband it is clear") {
    fed.read(metres(0.0008));
    CHECK_FALSE(fed.watch.active);
  }
}

TEST_CASE("clear_after counts from the first good reading within and clears only on a reading") {
  LevelInForce level = above(0.001, {});
  level.clear_after = seconds(5);
  Fed fed{level};
  fed.read(beyond);
  fed.read(beyond);
  REQUIRE(fed.watch.active);
  fed.read(within);
  fed.wait(seconds(5));
  fed.tick();
  CHECK(fed.watch.active);
  fed.read(within);
  CHECK_FALSE(fed.watch.active);
}

TEST_CASE("a saturated value counts as beyond every limit on its side") {
  LevelInForce level = above(0.010, {});
  level.below = Amount{length, -0.010};
  Reading high = metres(0.001, Quality::uncertain);
  high.saturated = Saturation::high;
  Reading low = high;
  low.saturated = Saturation::low;
  CHECK(is_beyond(level, {high, metres(0.001)}, 0));
  CHECK(is_beyond(level, {metres(0.001), low}, 0));
  CHECK_FALSE(is_beyond(above(0.010, {}), {metres(0.001), low}, 0));
}

TEST_CASE("guard uncertainty moves the limit inward by twice the standard uncertainty") {
  LevelInForce level = above(0.001, {});
  Reading r = metres(0.00095);
  r.uncertainty = 0.00003;
  CHECK_FALSE(is_beyond(level, both(r), 0));
  level.guard_uncertainty = true;
  CHECK(is_beyond(level, both(r), 0));
}

TEST_CASE("a limit that had a gate and has none now is in force at once") {
  LimitsInForce now;
  now.limits.push_back({.limit = {.name = "share"}});
  std::vector<LimitMemory> remembered(1);
  remembered[0].name = "share";
  remembered[0].gated_off = true;
  CHECK_FALSE(carried_over(now, {}, std::move(remembered), {})[0].gated_off);
}

// Expanded uncertainty with k = 2: JCGM 100:2008 (GUM), 6.2 and G.6.6.
TEST_CASE("a limit within twice the standard uncertainty of a value that is not beyond it cannot be excluded") {
  Reading reading = metres(0.0009);
  LevelInForce level = above(0.001, {});
  reading.uncertainty = 0.00005;  // The bound is exactly at the end of the interval: within, as everywhere.
  CHECK_FALSE(cannot_exclude(level, both(reading)));
  reading.uncertainty = 0.0000501;
  CHECK(cannot_exclude(level, both(reading)));
  CHECK_FALSE(is_beyond(level, both(reading), 0));
  level.guard_uncertainty = true;
  CHECK_FALSE(cannot_exclude(level, both(reading)));
  CHECK(is_beyond(level, both(reading), 0));
  level.guard_uncertainty = false;
  reading.value.si = 0.0011;
  CHECK_FALSE(cannot_exclude(level, both(reading)));
  reading.quality = Quality::bad;
  CHECK_FALSE(cannot_exclude(level, both(reading)));
  const LevelInForce below{.below = Amount{length, -0.001}};
  Reading low = metres(-0.00095);
  low.uncertainty = 0.0001;
  CHECK(cannot_exclude(below, both(low)));
}
