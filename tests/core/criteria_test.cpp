// The gate of a stage: what must be true before it may be proposed, and what is no longer true.
#include <catch2/catch.hpp>

#include "daemon/core/criteria.hpp"
#include "tests/core/changes.hpp"
#include "tests/support/rehearsed.hpp"

namespace standfast::test {
namespace {

// In the observation period of the second step of raising, which is over: all that the plan of the scenarios asks is met.
template <class Change>
Site observed(Change change) {
  Site site("002-to-full-step");
  change_job(site, change);
  site.pass(seconds(12));
  REQUIRE(site.act({.what = Act::permit_give, .object = "raise", .by = supervisor}) == "done");
  load_to(site, 0.5);
  site.pass(seconds(17));
  REQUIRE(site.state().run.observed >= seconds(10));
  return site;
}

std::string propose(Site& site) { return site.act({.what = Act::stage_propose, .by = technician}); }
StageState stands(const Site& site) { return state_of(site.state().run); }

void without_stated_proofs(Job& job) {
  for (Stage& stage : job.plan.stages)
    std::erase_if(stage.proceed_when, [](const Criterion& each) { return each.kind == Criterion::Kind::proofs; });
}

}  // namespace

TEST_CASE("a quantity that the plan asks for keeps the gate shut until it lies within, and shuts it again") {
  Site site = observed([](Job& job) {
    Criterion near{.name = "head near", .of = movement_of_head(job)};
    near.above = Bound{.constant = 0.1 * mm};
    near.below = Bound{.constant = -0.1 * mm};
    stage_of(job, "Raise").proceed_when.push_back(near);
  });
  CHECK(stands(site) == StageState::criteria_met);
  for (const double away : {0.2 * mm, -0.2 * mm}) {
    head_at(site, away);
    site.pass(seconds(1));
    CHECK(stands(site) == StageState::observation);
    CHECK(propose(site) == "criteria-not-met");
    head_at(site, 0.1 * mm);
    site.pass(seconds(1));
    CHECK(stands(site) == StageState::criteria_met);
  }
}

TEST_CASE("a criterion is not met by a doubtful value, nor by none") {
  Site site = observed([](Job& job) {
    Criterion warm{.name = "no frost", .of = temperature_of(job, "T1")};
    warm.below = Bound{.constant = 273.15};
    stage_of(job, "Raise").proceed_when.push_back(warm);
  });
  REQUIRE(stands(site) == StageState::criteria_met);
  SECTION("doubtful: warm enough, and its paper overdue, which is no HOLD") {
    change_job(site, [](Job& job) { channel_of(job, "T1").certificate.due = "2020-02-29"; });
  }
  SECTION("none") { site.is_missing("T1"); }
  site.pass(seconds(12));
  CHECK(reading_of(site, "T1").quality != Quality::good);
  CHECK(stands(site) == StageState::observation);
  CHECK(propose(site) == "criteria-not-met");
}

TEST_CASE("what the plan wants entered keeps the gate shut until somebody has entered it") {
  Site site = observed([](Job& job) {
    Criterion nuts{.name = "nuts followed", .kind = Criterion::Kind::entered};
    nuts.entered = "nuts followed";
    stage_of(job, "Raise").proceed_when.push_back(nuts);
  });
  CHECK(stands(site) == StageState::observation);
  CHECK(site.act({.what = Act::enter_note, .object = "nuts", .value = "seen", .by = technician}) == "done");
  site.pass(seconds(1));
  CHECK(propose(site) == "criteria-not-met");
  CHECK(site.act({.what = Act::enter_note, .object = "nuts followed", .value = "all four", .by = technician}) == "done");
  site.pass(seconds(1));
  CHECK(propose(site) == "done");
}

TEST_CASE("no stage is proposed at HOLD, whatever else is met") {
  Site site = observed([](Job&) {});
  REQUIRE(stands(site) == StageState::criteria_met);
  site.tell(QueueOverflow{1});
  site.pass(seconds(1));
  CHECK(stands(site) == StageState::observation);
  CHECK(propose(site) == "criteria-not-met");
  reset_all(site);
  site.pass(seconds(1));
  CHECK(propose(site) == "done");
}

namespace {

std::string facts_of_proofs(const Site& site) {
  for (const CriterionSeen& each : criteria_of(site.state()))
    if (each.name == "proofs of the outputs passed") return each.facts;
  return "not asked for";
}

}  // namespace

TEST_CASE("commissioning does not end unproved, whether the plan says so or not") {
  auto job = std::make_shared<Job>(*rehearsed("001-ready-to-raise").job);
  without_stated_proofs(*job);
  Site site = first_start(job);
  REQUIRE(site.act({.what = Act::stage_enter, .object = "Commission", .by = supervisor}) == "done");
  site.pass(seconds(2));
  CHECK(stands(site) == StageState::running);
  CHECK(propose(site) == "criteria-not-met");
  CHECK(facts_of_proofs(site) == "heartbeat not passed");
  REQUIRE(site.act({.what = Act::permit_give, .object = "commission", .by = supervisor, .with = technician}) == "done");
  site.pass(seconds(1));
  REQUIRE(site.act({.what = Act::prove_start, .object = "heartbeat", .by = technician}) == "done");
  site.pass(seconds(6));
  CHECK(stands(site) == StageState::criteria_met);
  CHECK(facts_of_proofs(site) == "heartbeat passed");
}

TEST_CASE("the snug load is not left with a drop unproved, whether the plan says so or not") {
  for (const bool another_rig : {false, true}) {
    Site site("001-ready-to-raise");  // Its drops are proved, unless the rig is another.
    change_job(site, [&](Job& job) {
      without_stated_proofs(job);
      if (!another_rig) return;
      job.rig_sha256 = std::string(64, '2');
      job.rig.output_module->settle = milliseconds(310);
    });
    site.pass(seconds(1));
    REQUIRE(site.act({.what = Act::stage_enter, .object = "Snug", .by = supervisor}) == "done");
    site.pass(seconds(15));
    REQUIRE(site.state().run.observed >= seconds(10));
    CHECK(stands(site) == (another_rig ? StageState::observation : StageState::criteria_met));
    CHECK(facts_of_proofs(site) == (another_rig ? "drop-by-command not passed, drop-by-heartbeat not passed, drop-by-cable not passed"
                                                : "drop-by-command passed, drop-by-heartbeat passed, drop-by-cable passed"));
  }
}

TEST_CASE("with its approval the next step's targets count, in the limits too") {
  Site site("001-ready-to-raise");
  site.pass(seconds(1));
  REQUIRE(site.act({.what = Act::stage_enter, .object = "Raise", .by = supervisor}) == "done");
  REQUIRE(site.act({.what = Act::permit_give, .object = "raise", .by = supervisor}) == "done");
  load_to(site, 0.25);
  site.pass(seconds(17));
  REQUIRE(propose(site) == "done");
  REQUIRE(site.act({.what = Act::stage_approve, .by = engineer}) == "done");
  REQUIRE(site.act({.what = Act::stage_approve, .by = supervisor}) == "done");
  REQUIRE(site.state().run.step == 1);
  REQUIRE(site.act({.what = Act::permit_give, .object = "raise", .by = supervisor}) == "done");
  load_to(site, 0.5);  // 25 % and 5 % more would be the bound of the step before.
  site.pass(seconds(2));
  CHECK(site.signal() == Level::none);
  load_to(site, 0.56);
  site.pass(seconds(2));
  CHECK(site.has("load, load J1", Level::hold));
}

}  // namespace standfast::test
