// Resets: who may reset what, and only what is over by the limits now in force.
#include <catch2/catch.hpp>

#include "tests/core/changes.hpp"

namespace standfast::test {
namespace {

Site at_work() {
  Site site("002-to-full-step");
  site.pass(seconds(6));
  return site;
}

std::string reset(Site& site, const PersonClaim& by, const PersonClaim& with = nobody) {
  site.act({.what = Act::acknowledge});
  return site.act({.what = Act::reset, .by = by, .with = with});
}

}  // namespace

TEST_CASE("a reset needs the condition gone, the alarm acknowledged, a reason and the newest picture, in any role", "[fault-29]") {
  Site site = at_work();
  head_at(site, 1.3 * mm);
  site.pass(seconds(2));
  REQUIRE(site.signal() == Level::hold);
  CHECK(reset(site, engineer, supervisor) == "condition-present");
  head_at(site, 0);
  site.pass(seconds(1));
  head_at(site, 1.3 * mm);  // It comes again: to be acknowledged again.
  site.pass(seconds(2));
  head_at(site, 0);
  site.pass(seconds(1));
  CHECK(site.act({.what = Act::reset, .by = engineer, .with = supervisor}) == "not-acknowledged");
  site.act({.what = Act::acknowledge});
  CHECK(site.act({.what = Act::reset, .reason = "", .by = engineer, .with = supervisor}) == "no-reason");
  CHECK(site.act({.what = Act::reset, .by = engineer, .with = supervisor, .pictures_old = 1}) == "picture-changed");
  CHECK(site.act({.what = Act::reset, .object = "4711", .by = engineer, .with = supervisor}) == "unknown-alarm");
  CHECK(site.act({.what = Act::reset, .by = engineer, .with = supervisor}) == "done");
  CHECK(site.signal() < Level::hold);
}

TEST_CASE("an instrument's HOLD is the technician's once it is good for five seconds within three sigma of before") {
  Site site = at_work();
  site.is_dead("P2");
  site.pass(seconds(1));
  REQUIRE(site.has("instrument P2", Level::hold));
  site.shows("P2", 87.61 * bar);
  site.pass(milliseconds(4800));
  CHECK(reset(site, technician) == "not-permitted");
  site.pass(milliseconds(400));
  CHECK(reset(site, technician) == "done");
}

TEST_CASE("an instrument that comes back somewhere else is the supervisor's") {
  Site site = at_work();
  site.is_dead("P2");
  site.pass(seconds(1));
  site.shows("P2", 87.61 * bar + 3.2 * bar);  // Three sigma of 1.75 bar / sqrt(3) are 3.03 bar.
  site.pass(seconds(8));
  CHECK(reset(site, technician) == "not-permitted");
  CHECK(reset(site, supervisor) == "done");
}

TEST_CASE("movement since the baseline is the engineer's, a share the supervisor's") {
  Site site = at_work();
  head_at(site, 1.3 * mm);
  site.pass(seconds(2));
  head_at(site, 0);
  site.pass(seconds(1));
  CHECK(reset(site, technician) == "not-permitted");
  CHECK(reset(site, supervisor, technician) == "not-permitted");
  CHECK(reset(site, engineer) == "done");
  site.pass(seconds(1));
  site.shows("P1", 140 * bar);
  site.shows("S1", 22 * mm);
  site.pass(seconds(2));
  REQUIRE(site.has(share_of_j1, Level::hold));
  site.shows("P1", 107.08 * bar);
  site.pass(seconds(1));
  CHECK(reset(site, supervisor) == "done");
}

TEST_CASE("a STOP of the rating is the engineer's and a second person's") {
  Site site = at_work();
  site.shows("P1", 705 * bar);
  site.shows("S1", 25 * mm);
  site.pass(seconds(2));
  REQUIRE(site.has("rating J1", Level::stop));
  site.shows("P1", 107.08 * bar);
  site.pass(seconds(1));
  CHECK(reset(site, engineer) == "not-permitted");
  CHECK(reset(site, supervisor, technician) == "not-permitted");
  CHECK(reset(site, supervisor, engineer) == "done");
}

TEST_CASE("a called stop is the supervisor's and a second person's, but not beside a STOP that nobody called") {
  Site site = at_work();
  site.act({.what = Act::stop});
  CHECK(reset(site, supervisor) == "not-permitted");
  CHECK(reset(site, technician, auditor) == "not-permitted");
  CHECK(reset(site, supervisor, technician) == "done");
  head_at(site, 2 * mm);
  site.pass(seconds(2));
  site.act({.what = Act::stop});
  head_at(site, 0);
  site.pass(seconds(1));
  CHECK(reset(site, supervisor, technician) == "not-permitted");
  CHECK(reset(site, engineer, supervisor) == "done");
}

TEST_CASE("restart, record and output HOLDs are the supervisor's") {
  Site site = at_work();
  site.tell(RecordHealth{RecordState::lagging});
  CHECK(reset(site, supervisor) == "condition-present");
  site.tell(RecordHealth{RecordState::healthy});
  CHECK(reset(site, technician) == "not-permitted");
  CHECK(reset(site, supervisor) == "done");
  site.tell(Started{"a boot", "a test", false});
  site.tell(JobInForce{site.shared_job()});
  site.pass(seconds(12));
  CHECK(reset(site, technician) == "not-permitted");
  CHECK(reset(site, supervisor) == "done");
  site.module_meets(rehearse::ModuleFault::cable_pulled);
  site.pass(seconds(3));
  site.module_meets(rehearse::ModuleFault::cable_back);
  site.pass(seconds(1));
  CHECK(reset(site, technician) == "not-permitted");
  CHECK(reset(site, supervisor) == "done");
}

TEST_CASE("a reset of everything is all or nothing") {
  Site site = at_work();
  site.act({.what = Act::stop});
  site.tell(QueueOverflow{3});
  CHECK(reset(site, supervisor) == "not-permitted");  // The overflow alone would be his.
  CHECK(site.state().alarms.open.size() == 2);
  const auto number = std::to_string(site.state().alarms.open[1].number);
  CHECK(site.act({.what = Act::reset, .object = number, .by = supervisor}) == "done");
  CHECK(site.signal() == Level::stop);
}

TEST_CASE("a REVIEW changes no output, lets the permit stand and needs no reset") {
  Site site = at_work();
  REQUIRE(site.act({.what = Act::permit_give, .object = "raise", .by = supervisor}) == "done");
  head_at(site, 0.9 * mm);
  site.pass(seconds(2));
  REQUIRE(site.has("head", Level::review));
  CHECK(site.newest().wanted[OutputKind::raise_permit]);
  CHECK_FALSE(site.newest().wanted[OutputKind::beacon]);
  head_at(site, 0);
  site.pass(seconds(12));
  CHECK(site.signal() == Level::review);  // Not yet seen.
  site.act({.what = Act::acknowledge});
  CHECK(site.signal() == Level::none);
}

}  // namespace standfast::test
