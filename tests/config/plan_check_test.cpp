#include "config/plan_check.hpp"

#include <catch2/catch.hpp>

#include "tests/config/loader_files.hpp"

using namespace standfast;

namespace {

const Rig& store() {
  static const Rig rig = test::rig_from(test::grain_store + "rig.yaml");
  return rig;
}

}  // namespace

TEST_CASE("the example's plans leave nothing to complain about") {
  for (const char* name : {"stages.yaml", "stages-demo.yaml"}) {
    const Plan plan = test::plan_from(test::grain_store + name, store());
    CHECK(check_plan(store(), plan, name).findings.empty());
  }
}

TEST_CASE("the movement allowed within stale_after is the rate limit times that time") {
  const Plan plan = test::plan_from(test::grain_store + "stages.yaml", store());
  const PlanCheck check = check_plan(store(), plan, "stages.yaml");
  REQUIRE(check.allowances.size() == 3);
  CHECK(check.allowances[0].stale_after == seconds(2));
  CHECK(check.allowances[0].movement->si() == Approx(2e-3 / 60 * 2));
  CHECK(!check.allowances[1].movement);
  const std::string text = plan_check_text(check, store(), plan);
  CHECK(text.find("point HEAD: moves at most 0.067 mm within 2 s of silence; a frozen gauge is doubted after 30 s, and its twin guards "
                  "meanwhile (stage Snug)") != std::string::npos);
  CHECK(text.find("point BASE_A: no rate limit bounds") != std::string::npos);
}

TEST_CASE("no gauge that is read by hand guards while another is frozen or silent") {
  Rig rig = test::rig_from("tests/scenarios/by-hand/rig.yaml");
  Plan plan = test::plan_from("tests/scenarios/by-hand/stages.yaml", rig);
  const PlanCheck check = check_plan(rig, plan, "stages.yaml");
  REQUIRE(check.allowances.size() == 2);
  CHECK(check.allowances[0].stale_after == seconds(2));
  CHECK(check.allowances[0].frozen_after == Duration{});
  CHECK(check.allowances[1].stale_after == minutes(2));
  const std::string text = plan_check_text(check, rig, plan);
  INFO(text);
  CHECK(text.find("point HEAD: no rate limit bounds what it moves within 2 s of silence; a frozen gauge has no twin on a wire that would "
                  "tell, and what is read by hand shows it at an entry, every 2 min (stage") != std::string::npos);
  CHECK(text.find("point BENCH: no rate limit bounds what it moves within 2 min of silence; it is read by hand alone, every 1 min "
                  "(stage") != std::string::npos);
  CHECK(text.find("guards meanwhile") == std::string::npos);
  rig.points[0].gauges.push_back(ChannelId{1u});  // A second one on a wire.
  plan.stages.back().polls.push_back({ChannelId{3u}, minutes(5), minutes(10)});  // LEVEL, more seldom than the rig says.
  const auto allowances = check_plan(rig, plan, "stages.yaml").allowances;
  CHECK(allowances[0].frozen_after == seconds(30));
  CHECK(allowances[1].stale_after == minutes(10));
  CHECK(allowances[1].entered_every == minutes(5));
}

// One block of one channel at 10 Hz: (6 + 60) bytes x 10 x 86 400.
TEST_CASE("the record grows by six bytes a reading and sixty a row") {
  Rig rig = test::rig_from(test::good + "watch-only.rig.yaml");
  rig.channels[0].every = milliseconds(100);
  Stage stage;
  CHECK(bytes_a_day(rig, stage) == Approx(66.0 * 10 * 86'400));
  stage.polls.push_back({ChannelId{0u}, seconds(1), seconds(3)});
  CHECK(bytes_a_day(rig, stage) == Approx(66.0 * 86'400));
}

TEST_CASE("a channel read by hand costs nothing in the record's estimate") {
  Rig rig = test::rig_from(test::good + "watch-only.rig.yaml");
  const double before = bytes_a_day(rig, Stage{});
  Channel by_hand = rig.channels[0];
  by_hand.bus.reset();
  rig.channels.push_back(by_hand);
  CHECK(bytes_a_day(rig, Stage{}) == before);
}
