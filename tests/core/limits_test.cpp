// What a limit does with its readings, its words and its gate, in a whole engine.
#include <catch2/catch.hpp>

#include "tests/core/changes.hpp"

namespace standfast::test {
namespace {

// The second step of raising, its stage changed.
template <class Change>
Site at_work_with(Change change) {
  Site site("002-to-full-step");
  change_job(site, [&](Job& job) { change(job, stage_of(job, "Raise")); });
  site.pass(seconds(12));
  REQUIRE(site.signal() == Level::none);
  return site;
}

Limit total_limit(const std::string& name, Bound above) {
  Limit limit{.name = name, .of = {.kind = QuantityKind::total_load, .dimension = {Base::force, Per::none}}};
  limit.hold = LevelBound{.above = std::move(above), .below = {}, .persist = seconds(1)};
  return limit;
}

Limit load_limit(const Job& job, const std::string& name, Bound above) {
  Limit limit = total_limit(name, std::move(above));
  limit.of = {.kind = QuantityKind::load, .subjects = {place_by_name(job.rig.jacks, "J1")}, .dimension = {Base::force, Per::none}};
  return limit;
}

std::string reset(Site& site, const PersonClaim& by) {
  site.act({.what = Act::acknowledge});
  return site.act({.what = Act::reset, .by = by});
}

std::string said(const Site& site, const std::string& subject, Level level) {
  const Alarm* alarm = alarm_of(site, subject, level);
  return alarm ? alarm->say : "no such alarm";
}

}  // namespace

TEST_CASE("a STOP goes by the readings themselves, a HOLD by their median where the channel has one") {
  Site site = at_work_with([](Job& job, Stage& stage) {
    channel_of(job, "P1").median = 3;
    std::erase_if(stage.limits, [](const Limit& limit) { return limit.of.dimension.base != Base::length; });
    Limit limit = load_limit(job, "bound", {.terms = {}, .constant = 150 * kN});
    limit.hold->persist = milliseconds(200);
    limit.stop = limit.hold;
    stage.limits.push_back(limit);
  });
  for (int third = 0; third < 6; ++third) {  // One reading in three is beyond: no median ever is.
    site.shows("P1", 160 * bar);  // 152 kN.
    site.pass(milliseconds(100));
    site.shows("P1", 107 * bar);
    site.pass(milliseconds(200));
  }
  CHECK(site.has("bound", Level::stop));
  CHECK_FALSE(site.has("bound", Level::hold));
}

TEST_CASE("the alarm of a limit says what the plan says: the limit first, then its stage, else the line of the kind") {
  const std::string of_limit = "Stop. Call the farm.", of_hold = "Stop the pump at tower A.", of_stop = "Leave the pit.";
  for (const bool limit_says : {false, true})
    for (const bool stage_says : {false, true}) {
      Site site = at_work_with([&](Job&, Stage& stage) {
        if (limit_says) by_name(stage.limits, "head").say = of_limit;
        if (stage_says) stage.say_hold = of_hold, stage.say_stop = of_stop;
      });
      head_at(site, 1.3 * mm);
      site.pass(seconds(2));
      head_at(site, 1.9 * mm);
      site.pass(seconds(2));
      const std::string hold = stage_says ? of_hold : "Stop pumping. Keep pressure. Stand back.";
      const std::string stop = stage_says ? of_stop : "All clear of the load. Touch nothing. Call the engineer.";
      CHECK(said(site, "head", Level::hold) == (limit_says ? of_limit : hold));
      CHECK(said(site, "head", Level::stop) == (limit_says ? of_limit : stop));
    }
}

TEST_CASE("a load above the high estimate is the engineer's to reset, said in words or in kilonewtons; below it the supervisor's") {
  const auto reset_by_supervisor = [](const Bound& above) {
    Site site = at_work_with([&](Job& job, Stage& stage) {
      job.plan.column_high = Force::from_si(600 * kN);
      for (Step& step : stage.steps) step.within = Ratio::from_si(1);  // The load may fall.
      std::erase_if(stage.limits, [](const Limit& limit) { return limit.of.dimension.base == Base::force; });
      stage.limits.push_back(total_limit("total", above));
    });
    load_to(site, 0.5);  // 740 kN.
    site.pass(seconds(2));
    REQUIRE(site.has("total", Level::hold));
    load_to(site, 0.25);
    site.pass(seconds(2));
    const std::string answer = reset(site, supervisor);
    if (answer != "done") CHECK(reset(site, engineer) == "done");
    return answer;
  };
  CHECK(reset_by_supervisor({.terms = {{1.0, Reference::column_high}}, .constant = 0}) == "not-permitted");
  CHECK(reset_by_supervisor({.terms = {}, .constant = 600 * kN}) == "not-permitted");
  CHECK(reset_by_supervisor({.terms = {}, .constant = 650 * kN}) == "not-permitted");
  CHECK(reset_by_supervisor({.terms = {{0.5, Reference::column_expected}}, .constant = -140 * kN}) == "not-permitted");
  CHECK(reset_by_supervisor({.terms = {}, .constant = 599 * kN}) == "done");
}

TEST_CASE("a load above the rating is the engineer's to reset, said in words or in kilonewtons") {
  for (const double bound : {199 * kN, 200 * kN}) {
    Site site = at_work_with([&](Job& job, Stage& stage) {
      std::erase_if(stage.limits, [](const Limit& limit) { return limit.of.dimension.base != Base::length; });
      stage.limits.push_back(load_limit(job, "bound", {.terms = {}, .constant = bound}));
      by_name(job.rig.jacks, "J1").rated = Force::from_si(200 * kN);
    });
    load_to(site, 0.6);  // 244 kN: the guard of the rating trips as well, as a STOP.
    site.pass(seconds(2));
    REQUIRE(alarm_of(site, "bound", Level::hold));
    CHECK(alarm_of(site, "bound", Level::hold)->reset_by_engineer == (bound == 200 * kN));
  }
}

TEST_CASE("a limit that counts from a mark that is gone is a HOLD until the mark is there") {
  Site site("002-to-full-step");
  change_job(site, [](Job& job) {
    channel_of(job, "B1").scale.value_high *= 2;  // Another gauge.
    job.rig_sha256 = std::string(64, '5');
  });
  site.pass(seconds(1));
  CHECK(site.has("mark of base A", Level::hold));
  CHECK_FALSE(site.has("mark of base B", Level::hold));
  REQUIRE(site.act({.what = Act::stage_abandon, .by = supervisor}) == "done");
  REQUIRE(site.act({.what = Act::stage_enter, .object = "Baseline", .by = supervisor}) == "done");
  site.pass(seconds(6));
  REQUIRE(site.act({.what = Act::stage_propose, .by = technician}) == "criteria-not-met");  // The HOLD is still latched.
  reset_all(site);
  CHECK_FALSE(site.has("mark of base A", Level::hold));
}

// ---- A gate that closes ----

namespace {

// Head above 1 mm for two seconds is a HOLD, while the air is warmer than 300 K.
Site gated() {
  Site site = at_work_with([](Job& job, Stage& stage) {
    Limit limit{.name = "gated", .of = movement_of_head(job)};
    limit.hold = LevelBound{.above = Bound{.constant = 1 * mm}, .below = {}, .persist = seconds(2)};
    limit.when = Gate{.of = temperature_of(job, "T3"), .above = Bound{.constant = 300}, .below = {}};
    stage.limits.push_back(limit);
  });
  head_at(site, 1.1 * mm);
  return site;
}

void gate(Site& site, bool open, Duration time) {
  site.shows("T3", open ? 310 : 290);
  site.pass(time);
}

}  // namespace

TEST_CASE("a gate that closes drains what has filled as a value within does, so that a flickering one hides nothing") {
  Site site = gated();
  for (int i = 0; i < 8 && !site.has("gated", Level::hold); ++i) {
    gate(site, true, milliseconds(500));
    gate(site, false, milliseconds(500));
  }
  CHECK(site.has("gated", Level::hold));
}

TEST_CASE("a limit does not trip while its gate is closed, and begins anew once it has drained") {
  Site site = gated();
  gate(site, true, milliseconds(1500));
  gate(site, false, seconds(4));
  CHECK_FALSE(site.has("gated", Level::hold));
  CHECK(memory_of(site, "gated").gated_off);
  gate(site, false, seconds(4));  // Eight seconds at a quarter of the speed: two seconds' worth.
  gate(site, true, milliseconds(1900));
  CHECK_FALSE(site.has("gated", Level::hold));
  gate(site, true, milliseconds(300));
  CHECK(site.has("gated", Level::hold));
}

TEST_CASE("a gate that closes ends the condition of its limit: what is latched may be reset") {
  Site site = gated();
  gate(site, true, seconds(3));
  REQUIRE(site.has("gated", Level::hold));
  CHECK(reset(site, engineer) == "condition-present");
  gate(site, false, seconds(1));
  CHECK(reset(site, engineer) == "done");
  CHECK_FALSE(site.has("gated", Level::hold));
}

TEST_CASE("a gauge off its scale is beyond every bound, and the alarm has no number for it", "[fault-16]") {
  Site site("002-to-full-step");
  site.pass(seconds(1));
  head_at(site, -30 * mm);  // The gauges end at 10 mm either way.
  site.pass(seconds(3));
  bool any = false;
  for (const Alarm& alarm : site.state().alarms.open)
    if (alarm.cause == Cause::limit && alarm.level == Level::stop) {
      any = true;
      INFO(alarm.subject);
      CHECK_FALSE(alarm.value);
      CHECK(alarm.bound);
    }
  CHECK(any);
}

}  // namespace standfast::test
