// A gauge that was knocked on a site at work: its alarm, who ends it and how, and what it leaves as it was.
#include <catch2/catch.hpp>

#include "tests/core/changes.hpp"

namespace standfast::test {
namespace {

// The second step of raising; the ram gauge of J1 stands 0.6 mm off since `then`.
Site knocked() {
  Site site("002-to-full-step");
  site.pass(seconds(1));
  REQUIRE(site.signal() == Level::none);
  site.shows("S1", 22.1 * mm);
  site.pass(seconds(1));
  return site;
}

const std::string alarm = "instrument S1";

std::string number_of(const Site& site) { return std::to_string(alarm_of(site, alarm, Level::hold)->number); }

std::string reset_it(Site& site, const PersonClaim& by, const std::string& reason = "measured by hand: the ram stands so") {
  return site.act({.what = Act::reset, .object = number_of(site), .reason = reason, .by = by});
}

}  // namespace

TEST_CASE("a ram gauge that steps alone is a HOLD of the instrument, takes the permit, and lets none be given", "[trade-19][fault-16]") {
  Site site("002-to-full-step");
  site.pass(seconds(1));
  REQUIRE(site.act({.what = Act::permit_give, .object = "raise", .by = supervisor}) == "done");
  site.pass(seconds(1));
  site.input_happens("pump_running", false);
  site.pass(seconds(2));
  site.shows("S1", 22.1 * mm);
  site.pass(milliseconds(400));
  CHECK(site.signal() == Level::none);
  site.pass(milliseconds(400));
  INFO(site.alarms());
  CHECK(site.signal() == Level::hold);
  REQUIRE(site.has(alarm, Level::hold));
  CHECK(alarm_of(site, alarm, Level::hold)->cause == Cause::lone_step);
  CHECK(alarm_of(site, alarm, Level::hold)->say == "Stop pumping. Keep pressure. Check the gauge and its stand by hand.");
  CHECK(site.state().alarms.open.size() == 1);
  CHECK(site.state().permit.kind == PermitKind::none);
  CHECK(site.act({.what = Act::permit_give, .object = "raise", .by = supervisor}) != "done");
}

TEST_CASE("a step is taken as true by a supervisor, by the alarm's number and with a reason, and by nobody who resets all", "[trade-19]") {
  Site site = knocked();
  REQUIRE(site.has(alarm, Level::hold));
  CHECK(reset_it(site, supervisor) == "not-acknowledged");
  site.act({.what = Act::acknowledge});
  CHECK(site.act({.what = Act::reset, .by = engineer, .with = supervisor}) == "condition-present");
  CHECK(reset_it(site, technician) == "not-permitted");
  CHECK(reset_it(site, supervisor, "") == "no-reason");
  CHECK(site.signal() == Level::hold);
  site.rows.clear();
  CHECK(reset_it(site, supervisor) == "done");
  CHECK(site.signal() == Level::none);
  CHECK(reading_of(site, "S1").quality == Quality::good);
  const std::string said = "instrument S1 by S. Wren: measured by hand: the ram stands so";
  CHECK(std::any_of(site.rows.begin(), site.rows.end(), [&](const EffectRow& row) {
    const auto* notice = std::get_if<Notice>(&row);
    return notice && notice->code == "step-taken-as-true" && notice->text == said;
  }));
  site.pass(minutes(1));
  CHECK(site.signal() == Level::none);
  CHECK(site.act({.what = Act::permit_give, .object = "raise", .by = supervisor}) == "done");
}

TEST_CASE("taking a step as true moves no baseline and no zero: travel counts as before", "[trade-19]") {
  Site site = knocked();
  const auto travel = [&] {
    const QuantityRef of{.kind = QuantityKind::travel, .subjects = {place_by_name(site.job().rig.jacks, "J1")}, .since = Since::baseline,
                         .dimension = {Base::length, Per::none}};
    return evaluate(of, context_of(site.state(), Take::as_read)).high.value.si;
  };
  const double before = travel();
  site.act({.what = Act::acknowledge});
  REQUIRE(reset_it(site, supervisor) == "done");
  site.pass(seconds(10));
  CHECK(travel() == before);
}

TEST_CASE("a gauge that was set back and stands for five seconds where it stood is the technician's to reset", "[trade-19]") {
  Site site = knocked();
  site.pass(minutes(1));
  site.shows("S1", 21.5 * mm);
  site.pass(seconds(2));
  site.act({.what = Act::acknowledge});
  CHECK(site.act({.what = Act::reset, .by = technician}) == "not-permitted");
  site.pass(seconds(4));
  CHECK(site.act({.what = Act::reset, .by = technician}) == "done");
  CHECK(site.signal() == Level::none);
}

TEST_CASE("a value beyond STOP that steps alone trips STOP all the same", "[trade-19]") {
  Site site("002-to-full-step");
  site.pass(seconds(1));
  site.shows("B1", -7 * mm);
  site.pass(seconds(2));
  INFO(site.alarms());
  CHECK(site.signal() == Level::stop);
  CHECK(site.has("instrument B1", Level::hold));
}

TEST_CASE("a restart and another revision keep the doubt of a step", "[trade-19]") {
  Site site = knocked();
  auto again = Engine::from_snapshot(site.engine.snapshot(), site.state().job);
  if (!again) FAIL(again.error());
  site.engine = std::move(*again);
  site.tell(Started{"another boot", "a test", false});
  site.tell(JobInForce{site.shared_job()});
  site.pass(seconds(5));
  CHECK(reading_of(site, "S1").cause == Cause::lone_step);
  change_job(site, [](Job& job) { job.plan.revision = "Z"; });
  site.pass(seconds(5));
  CHECK(reading_of(site, "S1").cause == Cause::lone_step);
  CHECK(site.has(alarm, Level::hold));
}

TEST_CASE("a gauge that nothing needs now, and steps alone, is a REVIEW, which a supervisor ends by its number", "[trade-19]") {
  Site site("002-to-full-step");
  change_job(site, [](Job& job) {
    std::erase_if(stage_of(job, "Raise").limits, [](const Limit& limit) {
      return limit.of.kind == QuantityKind::movement || limit.of.kind == QuantityKind::differential;
    });
  });
  site.pass(seconds(2));
  REQUIRE(site.state().in_force.needed[place_by_name(site.job().rig.channels, "B1")] == Level::none);
  site.shows("B1", -1 * mm);
  site.pass(seconds(1));
  INFO(site.alarms());
  REQUIRE(site.has("instrument B1", Level::review));
  site.act({.what = Act::acknowledge});
  const std::string number = std::to_string(alarm_of(site, "instrument B1", Level::review)->number);
  CHECK(site.act({.what = Act::reset, .object = number, .by = technician}) == "not-permitted");
  CHECK(site.act({.what = Act::reset, .object = number, .by = supervisor}) == "done");
  site.pass(seconds(5));
  CHECK(site.signal() == Level::none);
}

}  // namespace standfast::test
