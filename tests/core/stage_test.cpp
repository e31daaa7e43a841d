// Stages: entering, leaving, skipping, and whose limits count.
#include <catch2/catch.hpp>

#include "tests/core/changes.hpp"

namespace standfast::test {
namespace {

Site at_work() {
  Site site("002-to-full-step");
  site.pass(seconds(1));
  return site;
}

std::string enter(Site& site, const std::string& stage, const PersonClaim& by = supervisor) {
  return site.act({.what = Act::stage_enter, .object = stage, .by = by});
}
std::string skip(Site& site, const std::string& stage) {
  return site.act({.what = Act::stage_skip, .object = stage, .by = engineer, .with = supervisor});
}

}  // namespace

TEST_CASE("a stage is entered by a supervisor, on the newest picture, when those before are closed or skipped") {
  Site site = at_work();
  CHECK(enter(site, "Raise") == "stage-running");
  REQUIRE(site.act({.what = Act::stage_abandon, .by = supervisor}) == "done");
  CHECK(enter(site, "Lift") == "unknown-stage");
  CHECK(enter(site, "Raise", technician) == "not-permitted");
  CHECK(site.act({.what = Act::stage_enter, .object = "Raise", .by = supervisor, .pictures_old = 1}) == "picture-changed");
  REQUIRE(skip(site, "Raise") == "done");
  CHECK(enter(site, "Raise") == "done");  // A skipped stage may be entered after all.
  REQUIRE(site.act({.what = Act::stage_abandon, .by = supervisor}) == "done");
  CHECK(enter(site, "Raise") == "done");
  CHECK(site.state().run.step == 0);
}

TEST_CASE("a stage is skipped by engineer and a second person with a reason, before it is entered") {
  Site site = at_work();
  CHECK(site.act({.what = Act::stage_skip, .object = "Overnight", .by = engineer}) == "not-permitted");
  CHECK(site.act({.what = Act::stage_skip, .object = "Overnight", .by = supervisor, .with = technician}) == "not-permitted");
  CHECK(site.act({.what = Act::stage_skip, .object = "Overnight", .reason = "", .by = engineer, .with = supervisor}) == "no-reason");
  CHECK(site.act({.what = Act::stage_skip, .object = "Overnight", .by = engineer, .with = supervisor, .pictures_old = 1}) ==
        "picture-changed");
  CHECK(skip(site, "Raise") == "not-planned");
  CHECK(skip(site, "Snug") == "not-planned");
  CHECK(skip(site, "Overnight") == "done");
}

TEST_CASE("abandoning needs a supervisor and a reason; the limits of the stage stay in force") {
  Site site = at_work();
  CHECK(site.act({.what = Act::stage_abandon, .by = technician}) == "not-permitted");
  CHECK(site.act({.what = Act::stage_abandon, .reason = "", .by = supervisor}) == "no-reason");
  CHECK(site.act({.what = Act::stage_abandon, .by = supervisor}) == "done");
  CHECK(site.act({.what = Act::stage_abandon, .by = supervisor}) == "no-stage");
  head_at(site, 2 * mm);
  site.pass(seconds(2));
  CHECK(site.has("head", Level::stop));
}

TEST_CASE("stages of kinds that are not in this version load, and are refused on entry") {
  Site site = at_work();
  REQUIRE(site.act({.what = Act::stage_abandon, .by = supervisor}) == "done");
  auto later = std::make_shared<Job>(site.job());
  for (const StageKind kind :
       {StageKind::rezero_travel, StageKind::equalise, StageKind::lock_off, StageKind::pressure_down, StageKind::lift_off_check,
        StageKind::watch, StageKind::cut, StageKind::after_removal, StageKind::transfer_back}) {
    later->plan.stages.back().kind = kind;
    site.tell(JobInForce{std::make_shared<Job>(*later)});
    CHECK(enter(site, later->plan.stages.back().name) == "not-in-this-version");
  }
}

TEST_CASE("a stage that counts from the baseline is not entered without one") {
  Site site = at_work();
  auto other = std::make_shared<Job>(site.job());
  other->rig.channels[8].scale.value_high *= 2;  // Another gauge G1: its baseline is gone with it.
  REQUIRE(other->rig.channels[8].name == "G1");
  other->rig_sha256 = std::string(64, '3');
  other->plan_sha256 = std::string(64, '3');
  site.tell(JobInForce{other});
  REQUIRE(site.act({.what = Act::stage_abandon, .by = supervisor}) == "done");
  CHECK(enter(site, "Snug") == "no-baseline");
}

TEST_CASE("another plan with the same stages goes on where the work stands, its limits in force at once") {
  Site site = at_work();
  const Stage before = *stage_in_force(site.state());
  auto other = std::make_shared<Job>(site.job());
  other->plan.revision = "T";
  other->plan_sha256 = std::string(64, '3');
  site.tell(JobInForce{other});
  REQUIRE(stage_in_force(site.state()));
  CHECK(stage_in_force(site.state())->name == before.name);
  CHECK(state_of(site.state().run) == StageState::running);
  CHECK(site.state().limits.size() > before.limits.size());
  CHECK(site.signal() == Level::none);
  site.shows("P1", 140 * bar);
  site.shows("S1", 22 * mm);
  site.pass(seconds(3));
  CHECK(site.has(share_of_j1, Level::hold));
}

TEST_CASE("what was observed under one plan counts for nothing under another") {
  Site site = at_work();
  REQUIRE(site.act({.what = Act::permit_give, .object = "raise", .by = supervisor}) == "done");
  load_to(site, 0.5);
  site.pass(seconds(3));
  REQUIRE(state_of(site.state().run) == StageState::observation);
  REQUIRE(site.state().run.observed > Duration{});
  auto other = std::make_shared<Job>(site.job());
  other->plan_sha256 = std::string(64, '3');
  site.tell(JobInForce{other});
  CHECK(state_of(site.state().run) == StageState::running);
  CHECK_FALSE(site.state().run.reached_at);
  CHECK(site.state().run.observed == Duration{});
  CHECK(site.state().run.approvals.empty());
}

TEST_CASE("a plan that does not know the stage that was in force is a HOLD") {
  Site site = at_work();
  auto other = std::make_shared<Job>(site.job());
  for (Stage& stage : other->plan.stages) stage.name += " anew";
  other->plan_sha256 = std::string(64, '3');
  site.tell(JobInForce{other});
  CHECK(site.signal() == Level::hold);
  CHECK(site.has("stage 'Raise' is not in the plan now in force", Level::hold));
  site.act({.what = Act::acknowledge});
  CHECK(site.act({.what = Act::reset, .by = supervisor}) == "condition-present");  // Until a stage is entered.
}

TEST_CASE("the alarms of the old stage stay latched when a stage is entered, and are reset by the limits then in force") {
  Site site = at_work();
  site.shows("P1", 140 * bar);
  site.shows("S1", 22 * mm);
  site.pass(seconds(2));
  REQUIRE(site.has(share_of_j1, Level::hold));
  REQUIRE(site.act({.what = Act::stage_abandon, .by = supervisor}) == "done");
  REQUIRE(enter(site, "Snug") == "done");  // It limits no share.
  site.pass(seconds(1));
  CHECK(site.has(share_of_j1, Level::hold));
  CHECK(site.signal() == Level::hold);
  site.act({.what = Act::acknowledge});
  CHECK(site.act({.what = Act::reset, .by = supervisor}) == "done");  // Though the share is as it was.
  CHECK(site.signal() == Level::none);
}

TEST_CASE("the limits of a stage apply to the very next evaluation") {
  Site site = at_work();
  REQUIRE(site.act({.what = Act::stage_abandon, .by = supervisor}) == "done");
  REQUIRE(enter(site, "Snug") == "done");
  site.shows("P1", 140 * bar);
  site.shows("S1", 22 * mm);
  site.pass(seconds(3));
  REQUIRE(site.signal() == Level::none);
  REQUIRE(site.act({.what = Act::stage_abandon, .by = supervisor}) == "done");
  REQUIRE(skip(site, "Snug") == "done");
  REQUIRE(enter(site, "Raise") == "done");
  site.pass(milliseconds(1200));
  CHECK(site.has(share_of_j1, Level::hold));
}

TEST_CASE("a limit of the same name goes on with what it remembers, unless it watches another quantity") {
  Site site = at_work();
  REQUIRE(site.act({.what = Act::stage_abandon, .by = supervisor}) == "done");
  auto other = std::make_shared<Job>(site.job());
  for (Limit& limit : other->plan.stages[2].limits)  // Snug: what is called head now watches the jacks' total.
    if (limit.name == "head") limit.of = {.kind = QuantityKind::total_load, .dimension = {Base::force, Per::none}};
  site.tell(JobInForce{other});
  head_at(site, 2 * mm);
  site.pass(seconds(2));
  REQUIRE(site.has("head", Level::stop));
  REQUIRE(enter(site, "Snug") == "done");  // Metres are not compared with newtons.
  head_at(site, 0);
  site.pass(seconds(1));
  CHECK(site.has("head", Level::stop));
}

TEST_CASE("two signatures are of two persons in two roles, and an engineer leaves the supervisor's line open") {
  Site site("002-to-full-step");
  REQUIRE(site.act({.what = Act::permit_give, .object = "raise", .by = supervisor}) == "done");
  load_to(site, 0.5);
  site.pass(seconds(16));
  CHECK(site.act({.what = Act::stage_approve, .by = engineer}) == "not-proposed");
  REQUIRE(site.act({.what = Act::stage_propose, .by = technician}) == "done");
  CHECK(site.act({.what = Act::stage_approve, .by = technician}) == "not-permitted");
  CHECK(site.act({.what = Act::stage_approve, .by = engineer, .pictures_old = 1}) == "picture-changed");
  CHECK(site.act({.what = Act::stage_approve, .by = engineer}) == "done");
  CHECK(site.act({.what = Act::stage_approve, .by = engineer}) == "signed-already");
  CHECK(site.act({.what = Act::stage_approve, .by = supervisor}) == "done");
  CHECK(state_of(site.state().run) == StageState::closed);
}

TEST_CASE("what was met and is no longer takes the signatures back") {
  Site site("002-to-full-step");
  let_loads_fall(site);
  REQUIRE(site.act({.what = Act::permit_give, .object = "raise", .by = supervisor}) == "done");
  load_to(site, 0.5);
  site.pass(seconds(16));
  REQUIRE(site.act({.what = Act::stage_propose, .by = technician}) == "done");
  REQUIRE(site.act({.what = Act::stage_approve, .by = engineer}) == "done");
  load_to(site, 0.489);
  site.pass(seconds(9));
  CHECK(site.state().run.approvals.size() == 1);
  site.pass(seconds(2));  // Out of the band for ten seconds: the observation period begins anew.
  CHECK(site.state().run.approvals.empty());
  CHECK(state_of(site.state().run) == StageState::running);
}

TEST_CASE("the observation period counts only the time in the band, and begins anew after ten seconds out of it") {
  Site site("002-to-full-step");
  let_loads_fall(site);
  load_to(site, 0.5);
  site.pass(seconds(6));
  load_to(site, 0.489);
  site.pass(seconds(8));
  CHECK(state_of(site.state().run) == StageState::observation);
  load_to(site, 0.5);
  site.pass(seconds(3));
  CHECK(state_of(site.state().run) == StageState::observation);
  site.pass(milliseconds(1500));
  CHECK(state_of(site.state().run) == StageState::criteria_met);
}

TEST_CASE("a load whose pressure is lost stands in no band") {
  Site site("002-to-full-step");
  load_to(site, 0.5);
  site.pass(seconds(2));
  site.is_dead("P3");
  site.pass(seconds(9));
  CHECK(state_of(site.state().run) == StageState::observation);
  CHECK_FALSE(site.state().run.in_band);
  site.pass(seconds(2));
  CHECK(state_of(site.state().run) == StageState::running);
}

TEST_CASE("a stage change, a HOLD and a STOP each ask for a snapshot, one for all the rows of an event") {
  const auto snapshots = [](Site& site) {
    std::size_t count = 0;
    for (const EffectRow& row : site.rows) count += std::holds_alternative<SnapshotDue>(row);
    site.rows.clear();
    return count;
  };
  Site site = at_work();
  snapshots(site);
  site.act({.what = Act::stage_abandon, .by = supervisor});
  CHECK(snapshots(site) == 1);
  enter(site, "Raise");
  CHECK(snapshots(site) == 1);
  site.tell(QueueOverflow{1});
  CHECK(snapshots(site) == 1);
  site.act({.what = Act::stop});
  CHECK(snapshots(site) == 1);
  site.pass(seconds(2));
  CHECK(snapshots(site) == 0);
}

}  // namespace standfast::test
