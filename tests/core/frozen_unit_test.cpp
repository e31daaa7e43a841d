// A frozen gateway on a site at work: one alarm, and what its numbers still do.
#include <catch2/catch.hpp>

#include "tests/core/changes.hpp"
#include "tests/support/steady_random.hpp"

namespace standfast::test {
namespace {

// The scenarios' site; its pressures and the gauges of the head flicker, or nothing does.
void work_on(Site& site, Duration time, bool flickers) {
  static SteadyRandom random{11};
  for (const Instant until = site.now + time; site.now < until;) {
    if (flickers) site.shows("T3", 291.15 + random.between(-2, 2));  // A sensor that nothing needs.
    site.pass(milliseconds(100));
  }
}

}  // namespace

TEST_CASE("a frozen gateway is one HOLD, by its name, for all its channels; the supervisor ends it once it has come back") {
  Site site("002-to-full-step");
  work_on(site, minutes(3), true);
  REQUIRE(site.signal() == Level::none);
  site.rows.clear();
  work_on(site, seconds(15), false);
  INFO(site.alarms());
  CHECK(site.signal() == Level::hold);
  REQUIRE(site.has("bus manifold", Level::hold));
  CHECK(alarm_of(site, "bus manifold", Level::hold)->cause == Cause::unit_frozen);
  CHECK(site.state().alarms.open.size() == 1);
  CHECK(site.act({.what = Act::permit_give, .object = "raise", .by = supervisor}) != "done");
  site.act({.what = Act::acknowledge});
  CHECK(site.act({.what = Act::reset, .by = supervisor}) == "condition-present");
  work_on(site, seconds(10), true);
  CHECK(reading_of(site, "G1").quality == Quality::good);
  CHECK(site.act({.what = Act::reset, .by = technician}) == "not-permitted");
  CHECK(site.act({.what = Act::reset, .by = supervisor}) == "done");
  CHECK(site.signal() == Level::none);
}

TEST_CASE("a snapshot between does not make a frozen gateway move") {
  Site site("002-to-full-step");
  work_on(site, minutes(3), true);
  work_on(site, seconds(6), false);
  const auto go_on = [&site] {
    const std::string text = site.engine.snapshot();
    auto again = Engine::from_snapshot(text, site.state().job);
    REQUIRE(again);
    REQUIRE(again->snapshot() == text);
    site.engine = std::move(*again);
  };
  go_on();
  work_on(site, seconds(6), false);
  CHECK(site.has("bus manifold", Level::hold));
  go_on();
  work_on(site, seconds(1), false);
  CHECK(site.has("bus manifold", Level::hold));
}

TEST_CASE("a frozen number beyond a STOP trips it") {
  Site site("002-to-full-step");
  work_on(site, minutes(3), true);
  work_on(site, seconds(15), false);
  REQUIRE(reading_of(site, "G1").cause == Cause::unit_frozen);
  change_job(site, [](Job& job) {
    for (Limit& limit : stage_of(job, "Raise").limits)
      if (limit.of.kind == QuantityKind::movement && !limit.of.rate && limit.stop) limit.stop->below = Bound{.constant = 1 * mm};
  });
  site.pass(seconds(2));
  INFO(site.alarms());
  CHECK(site.signal() == Level::stop);
}

}  // namespace standfast::test
