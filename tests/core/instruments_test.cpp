// The alarm of an instrument: as high as what needs it, at most HOLD unless the plan says STOP, and never nothing where its
// range is left.
#include <catch2/catch.hpp>

#include "tests/core/changes.hpp"

namespace standfast::test {
namespace {

// The second step of raising. It needs no temperature, unless the test makes it.
Site at_work() {
  Site site("002-to-full-step");
  site.pass(seconds(1));
  return site;
}

template <class Change>
Site at_work_with(Change change) {
  Site site("002-to-full-step");
  change_job(site, change);
  site.pass(seconds(2));
  REQUIRE(site.signal() == Level::none);
  return site;
}

Limit temperature_limit(const Job& job, std::optional<LevelBound> review, std::optional<LevelBound> hold) {
  Limit limit{.name = "warm", .of = temperature_of(job, "T1")};
  limit.review = std::move(review);
  limit.hold = std::move(hold);
  return limit;
}

const LevelBound above_330{.above = Bound{.constant = 330}, .below = {}, .persist = seconds(1)};

std::string subject(const std::string& channel) { return "instrument " + channel; }

// Of this instrument, at any level.
std::optional<Level> level_of(const Site& site, const std::string& channel) {
  for (const Alarm& alarm : site.state().alarms.open)
    if (alarm.subject == subject(channel)) return alarm.level;
  return std::nullopt;
}

}  // namespace

TEST_CASE("an instrument that a HOLD or a STOP needs and that gives no number is a HOLD") {
  const auto is_hold = [](Site& site, const std::string& channel) {
    site.pass(seconds(3));
    CHECK(reading_of(site, channel).quality == Quality::bad);
    CHECK(level_of(site, channel) == Level::hold);
    CHECK(site.signal() == Level::hold);
  };
  for (const char* channel : {"P2", "G2"}) {
    Site site = at_work();
    site.is_dead(channel);
    is_hold(site, channel);
  }
  for (const char* channel : {"P2", "S3", "G1", "B1"}) {
    Site site = at_work();
    site.is_missing(channel);
    is_hold(site, channel);
  }
}

TEST_CASE("an instrument that only a REVIEW needs raises a REVIEW, one that a HOLD needs a HOLD") {
  for (const bool held : {false, true}) {
    Site site = at_work_with([&](Job& job) {
      const auto none = std::optional<LevelBound>();
      stage_of(job, "Raise").limits.push_back(temperature_limit(job, held ? none : above_330, held ? above_330 : none));
    });
    site.is_missing("T1");
    site.pass(seconds(15));
    CHECK(level_of(site, "T1") == (held ? Level::hold : Level::review));
  }
}

TEST_CASE("an instrument behind a criterion is needed as one behind a HOLD is") {
  Site site = at_work_with([](Job& job) {
    Criterion warm{.name = "no frost", .of = temperature_of(job, "T1")};
    warm.below = Bound{.constant = 273.15};
    stage_of(job, "Raise").proceed_when.push_back(warm);
  });
  site.is_dead("T1");
  site.pass(seconds(3));
  CHECK(level_of(site, "T1") == Level::hold);
}

TEST_CASE("an instrument behind a gate is needed as much as the limit that it gates") {
  Site site = at_work_with([](Job& job) {
    Limit gated = limit_of(job, "Raise", "head rate");
    gated.name = "gated";
    gated.hold = std::exchange(gated.review, std::nullopt);
    gated.when = Gate{.of = temperature_of(job, "T1"), .above = Bound{.constant = 250}, .below = {}};
    stage_of(job, "Raise").limits.push_back(gated);
  });
  site.is_dead("T1");
  site.pass(seconds(3));
  CHECK(level_of(site, "T1") == Level::hold);
}

TEST_CASE("a jack's load is needed where the stage has targets and no limit on it") {
  Site site = at_work_with([](Job& job) {
    std::erase_if(stage_of(job, "Raise").limits, [](const Limit& limit) {
      return limit.of.kind == QuantityKind::load || limit.of.kind == QuantityKind::share;
    });
  });
  site.is_dead("P4");
  site.pass(seconds(1));
  CHECK(level_of(site, "P4") == Level::hold);
}

TEST_CASE("where the plan says that a bad reading is a STOP, it is one for an instrument that a STOP needs, and for no other") {
  Site site = at_work_with([](Job& job) {
    Stage& stage = stage_of(job, "Raise");
    stage.bad_reading_stops = true;
    stage.limits.push_back(temperature_limit(job, std::nullopt, above_330));
  });
  site.is_missing("T1");
  site.pass(seconds(15));
  CHECK(level_of(site, "T1") == Level::hold);
  CHECK(site.signal() == Level::hold);
  site.is_dead("G2");  // Not a number.
  site.pass(seconds(1));
  CHECK(level_of(site, "G2") == Level::stop);
  CHECK(site.signal() == Level::stop);
}

TEST_CASE("a doubtful number is no STOP, even where a bad one is") {
  Site site = at_work_with([](Job& job) { stage_of(job, "Raise").bad_reading_stops = true; });
  site.shows("B1", 10.5 * mm);  // Outside its range, inside the margin. Its own limit is a STOP of 6 mm: elsewhere.
  site.pass(milliseconds(300));
  CHECK(level_of(site, "B1") == Level::hold);
}

TEST_CASE("gauges of a point that stand further apart than the rig allows are a HOLD") {
  Site site = at_work();
  site.shows("G2", 0.01 * mm);  // Both move: neither is frozen.
  for (const double way : {0.05, 0.1, 0.15}) {  // By no step.
    site.shows("G1", way * mm);
    site.pass(seconds(1));
  }
  CHECK(site.signal() == Level::none);
  site.shows("G1", 0.17 * mm);
  site.pass(seconds(1));
  CHECK(site.has("gauges of HEAD", Level::hold));
  REQUIRE(alarm_of(site, "gauges of HEAD", Level::hold));
  CHECK(alarm_of(site, "gauges of HEAD", Level::hold)->cause == Cause::twins_disagree);
}

TEST_CASE("paper that is overdue is for review, also where a STOP needs the instrument") {
  Site site("002-to-full-step");
  change_job(site, [](Job& job) { channel_of(job, "G1").certificate.due = "2020-02-29"; });
  site.pass(seconds(2));
  CHECK(level_of(site, "G1") == Level::review);
}

TEST_CASE("an instrument that nothing needs raises a REVIEW where its range is left, and nothing where it is silent") {
  Site site = at_work();
  site.shows("T3", 273.15 + 90);  // Its range ends at 85 degrees.
  site.pass(seconds(2));
  CHECK(level_of(site, "T3") == Level::review);
  CHECK(site.signal() == Level::review);
  Site beyond = at_work();
  beyond.shows("T3", 273.15 + 120);  // Beyond the margin: no number any more.
  beyond.pass(seconds(2));
  CHECK(level_of(beyond, "T3") == Level::review);
  Site silent = at_work();
  silent.is_missing("T3");
  silent.pass(seconds(15));
  CHECK_FALSE(level_of(silent, "T3"));
}

TEST_CASE("rating and stroke are guarded where no limit of the plan names them") {
  Site site = at_work_with([](Job& job) { job.plan.stages[3].limits.clear(); });
  const auto& in_force = site.state().in_force.limits;
  REQUIRE(std::all_of(in_force.begin(), in_force.end(), [](const LimitInForce& each) { return each.guard; }));
  site.shows("S2", 150.1 * mm);  // Its stroke is 150 mm, its range as well: in doubt, and a STOP all the same.
  site.pass(seconds(1));
  CHECK(site.has("stroke J2", Level::stop));
  site.shows("P3", 700.5 * bar);  // 665.2 kN on 95.03 cm2; rated 665 kN.
  site.pass(seconds(1));
  CHECK(site.has("rating J3", Level::stop));
}

TEST_CASE("a bus on which nothing answers is a REVIEW by its name, needed or not, until something answers") {
  Site site("002-to-full-step");
  for (const Channel& channel : site.job().rig.channels) site.is_missing(channel.name);
  site.pass(seconds(1));
  CHECK_FALSE(site.has("all of bus manifold", Level::review));
  site.pass(seconds(12));
  CHECK(site.has("all of bus manifold", Level::review));
  site.act({.what = Act::acknowledge});
  for (const Channel& channel : site.job().rig.channels) site.shows(channel.name, 0);
  site.pass(seconds(1));
  CHECK_FALSE(site.has("all of bus manifold", Level::review));
}

TEST_CASE("a bus on which one refuses, or is another than is stated, answers") {
  for (const Flaw flaw : {Flaw::exception_refused, Flaw::exception_failed, Flaw::exception_busy, Flaw::wrong_instrument, Flaw::no_answer}) {
    Site site("002-to-full-step");
    for (int second = 0; second < 12; ++second) {
      site.now = site.now + seconds(1);
      site.wall.ns += seconds(1).ns;
      for (std::size_t b = 0; b < site.job().polls.blocks.size(); ++b)
        site.tell(Scan{BlockId{b}, site.now, Words{}, b == 0 ? flaw : Flaw::no_answer});
    }
    INFO(site.alarms());
    CHECK(site.has("all of bus manifold", Level::review) == (flaw == Flaw::no_answer));
  }
}

}  // namespace standfast::test
