// Starting, starting again, another boot of the machine: what is kept, what a person must look at.
#include <catch2/catch.hpp>

#include "tests/core/changes.hpp"

namespace standfast::test {
namespace {

void restart(Site& site, const std::string& boot = "rehearsal") {
  auto again = Engine::from_snapshot(site.engine.snapshot(), site.state().job);
  if (!again) FAIL(again.error());
  site.engine = std::move(*again);
  site.tell(Started{boot, "a test", false});
  site.tell(JobInForce{site.shared_job()});
}

Site at_work() {
  Site site("002-to-full-step");
  site.pass(seconds(1));
  return site;
}

}  // namespace

TEST_CASE("a restart is a HOLD until a person has looked, and keeps stage, step, baseline and proofs") {
  Site site = at_work();
  restart(site);
  CHECK(site.has("restart", Level::hold));
  site.pass(seconds(12));
  CHECK(site.signal() == Level::hold);
  CHECK(stage_in_force(site.state())->name == "Raise");
  CHECK(site.state().run.step == 1);
  CHECK(site.state().proofs.all_drops());
  reset_all(site);
  CHECK(site.signal() == Level::none);
  CHECK(site.act({.what = Act::permit_give, .object = "raise", .by = supervisor}) == "done");
}

TEST_CASE("the third start after a crash within ten minutes is a HOLD of its own, which an engineer and a second person reset",
          "[fault-28]") {
  Site site = at_work();
  for (int crash = 1; crash <= 3; ++crash) {
    CHECK_FALSE(site.has("restarting again and again", Level::hold));
    restart(site);
    site.pass(minutes(5));  // The first and the third lie ten minutes apart, which is within.
  }
  REQUIRE(site.has("restarting again and again", Level::hold));
  site.act({.what = Act::acknowledge});
  CHECK(site.act({.what = Act::reset, .by = supervisor, .with = technician}) == "not-permitted");
  CHECK(site.act({.what = Act::reset, .by = engineer}) != "done");
  CHECK(site.act({.what = Act::permit_give, .object = "raise", .by = supervisor}) != "done");
  CHECK(site.act({.what = Act::reset, .by = engineer, .with = supervisor}) == "done");
  CHECK_FALSE(site.has("restarting again and again", Level::hold));
}

TEST_CASE("starts that lie further apart, and those after an end in order, are no crash loop", "[fault-28]") {
  Site site = at_work();
  for (int crash = 0; crash < 6; ++crash) {
    restart(site);
    site.pass(minutes(5) + seconds(1));
  }
  for (int end = 0; end < 6; ++end) {
    site.pass(minutes(6));
    site.tell(Ended{});
    restart(site);
  }
  CHECK_FALSE(site.has("restarting again and again", Level::hold));
}

TEST_CASE("a restart takes the permit, and nothing gives it back") {
  Site site = at_work();
  REQUIRE(site.act({.what = Act::permit_give, .object = "raise", .by = supervisor}) == "done");
  restart(site);
  CHECK_FALSE(site.newest().wanted[OutputKind::raise_permit]);
  CHECK_FALSE(site.state().permit.given());
}

TEST_CASE("latched alarms outlive a restart") {
  Site site = at_work();
  site.shows("G1", 2 * mm);
  site.shows("G2", 2 * mm);
  site.pass(seconds(2));
  site.shows("G1", 0);
  site.shows("G2", 0);
  site.pass(seconds(2));
  restart(site);
  CHECK(site.has("head", Level::stop));
  CHECK(site.signal() == Level::stop);
}

TEST_CASE("the first start is a HOLD, without a plan in force as well") {
  Engine engine;
  const Effects effects = engine.apply({Instant{} + hours(1), WallTime{1}, Started{"boot", "test", true}});
  CHECK(engine.state().signal == Level::hold);
  CHECK_FALSE(effects.wanted[OutputKind::raise_permit]);
  engine.apply({Instant{} + hours(1), WallTime{1}, NoJob{"no plan has been adopted"}});
  CHECK(engine.state().alarms.open.size() == 2);
  CHECK(engine.state().alarms.open[1].subject == "plan");
}

TEST_CASE("time goes on over another boot whose clock begins at nought, by as much as the wall says") {
  Site site = at_work();
  const Instant before = site.state().now;
  const WallTime wall_before = site.state().wall;
  site.now = Instant{} + seconds(7);
  site.wall.ns = wall_before.ns + minutes(30).ns;
  restart(site, "another boot");
  CHECK(site.state().now - before == minutes(30));
  CHECK(site.newest().instants.front() == site.now);  // Rows carry the time of the boot they were decided in.
  site.pass(seconds(12));
  CHECK(site.state().now - before == minutes(30) + seconds(12));
  CHECK(site.has("restart", Level::hold));
  CHECK_FALSE(site.has("instrument P1", Level::hold) == (site.state().alarms.open.size() == 1));
  reset_all(site);
  CHECK(site.signal() == Level::none);
  CHECK(site.act({.what = Act::permit_give, .object = "raise", .by = supervisor}) == "done");
}

TEST_CASE("a wall clock that was set back while the machine was off makes no time run backwards") {
  Site site = at_work();
  const Instant before = site.state().now;
  site.now = Instant{} + seconds(1);
  site.wall.ns -= hours(5).ns;
  restart(site, "another boot");
  CHECK(site.state().now == before);
}

TEST_CASE("the observation period does not count the time in which nobody watched") {
  Site site = at_work();
  REQUIRE(site.act({.what = Act::permit_give, .object = "raise", .by = supervisor}) == "done");
  load_to(site, 0.5);
  site.pass(seconds(3));
  const Duration observed = site.state().run.observed;
  site.now = site.now + minutes(5);
  site.wall.ns += minutes(5).ns;
  restart(site);
  site.pass(seconds(1));
  CHECK(site.state().run.observed < observed + seconds(4));
  CHECK(state_of(site.state().run) != StageState::criteria_met);
}

TEST_CASE("a baseline that was being taken is taken from its beginning after a restart") {
  Site site(Site("001-ready-to-raise").shared_job());
  load_to(site, 0);
  for (const char* air : {"T1", "T2", "T3"}) site.shows(air, 291.15);
  site.pass(seconds(1));
  REQUIRE(site.act({.what = Act::stage_skip, .object = "Commission", .by = engineer, .with = supervisor}) == "done");
  REQUIRE(site.act({.what = Act::stage_enter, .object = "Baseline", .by = supervisor}) == "done");
  site.pass(seconds(3));
  restart(site);
  site.pass(seconds(3));
  CHECK(state_of(site.state().run) == StageState::running);
  site.pass(seconds(3));
  reset_all(site);
  CHECK(state_of(site.state().run) == StageState::criteria_met);
}

TEST_CASE("the poll periods of the stage count after a restart too") {
  Site site = at_work();
  auto slow = std::make_shared<Job>(site.job());
  slow->plan.stages[3].polls.push_back({ChannelId{0}, seconds(10), seconds(30)});
  site.tell(JobInForce{slow});
  CHECK(site.state().values.channels[0].every == seconds(10));
  CHECK(site.state().values.channels[1].every == milliseconds(100));
}

TEST_CASE("a file on disk that is not in force is a REVIEW until it is") {
  Site site = at_work();
  site.tell(FilesOnDisk{.plan_differs = true});
  CHECK(site.has("stages.yaml on disk is not in force", Level::review));
  site.tell(FilesOnDisk{});
  site.act({.what = Act::acknowledge});
  CHECK(site.signal() == Level::none);
}

TEST_CASE("a step of the wall clock is told, and disturbs nothing") {
  Site site = at_work();
  site.tell(ClockStep{hours(-2)});
  CHECK(site.signal() == Level::none);
  CHECK(std::holds_alternative<Notice>(site.newest().rows.front()));
}

TEST_CASE("an answer that is too old on its arrival is no reading") {
  Site site = at_work();
  Scan scan{.block = BlockId{0}, .taken_at = site.now - seconds(3), .raw = Words(site.job().polls.blocks[0].count, 0)};
  site.now = site.now + milliseconds(1);
  site.tell(scan);
  CHECK(site.signal() >= Level::hold);
  CHECK(*site.newest().next > site.now);
}

TEST_CASE("a median holds nothing of before an outage") {
  Site site("002-to-full-step");
  change_job(site, [](Job& job) {
    for (const char* gauge : {"G1", "G2"}) channel_of(job, gauge).median = 5;
  });
  site.pass(seconds(2));
  site.tell(Started{"a boot", "a test", false});
  site.tell(JobInForce{site.state().job});
  head_at(site, 1.3 * mm);
  site.pass(milliseconds(100));
  const ChannelState& gauge = site.state().values.channels[place_by_name(site.job().rig.channels, "G1")];
  CHECK(gauge.steadied.value.si == Approx(1.3 * mm).margin(1e-5));
}

}  // namespace standfast::test
