// Reading sets: at the plan's times behind the reaching of a step, each the mean over the plan's window.
#include <catch2/catch.hpp>

#include "tests/support/site.hpp"

namespace standfast::test {
namespace {

// The second step of raising, a quarter on the jacks; its sets are read one and five seconds behind its reaching.
Site raising(Duration window) {
  Site site("002-to-full-step");
  auto job = std::make_shared<Job>(site.job());
  job->plan.reading_set_window = window;
  site.tell(JobInForce{job});
  site.pass(seconds(15));
  REQUIRE(site.act({.what = Act::permit_give, .object = "raise", .by = supervisor}) == "done");
  return site;
}

std::vector<ReadingSet> sets(const Site& site) {
  std::vector<ReadingSet> found;
  for (const EffectRow& row : site.rows)
    if (const auto* set = std::get_if<ReadingSet>(&row)) found.push_back(*set);
  return found;
}

// The number behind `name` in a set, in its usual unit.
double number(const ReadingSet& set, const std::string& name) {
  const auto at = set.values.find(name + " ");
  REQUIRE(at != std::string::npos);
  return std::stod(set.values.substr(at + name.size() + 1));
}

}  // namespace

TEST_CASE("a reading set is the mean over its window, not the last reading") {
  Site site = raising(seconds(2));
  load_to(site, 0.5);
  site.pass(seconds(4));
  REQUIRE(sets(site).size() == 1);
  load_to(site, 0.505);  // The second half of the window of the set at five seconds.
  site.pass(milliseconds(1500));
  REQUIRE(sets(site).size() == 2);
  const double planned = 0.275 * 1480 * kN;
  CHECK(number(sets(site)[0], "load J1") == Approx(0.5 * planned / kN).epsilon(1e-3));
  CHECK(number(sets(site)[1], "load J1") > 0.5015 * planned / kN);
  CHECK(number(sets(site)[1], "load J1") < 0.5045 * planned / kN);
}

TEST_CASE("a reading set names every jack's load and travel and every point's movement") {
  Site site = raising(seconds(1));
  load_to(site, 0.5);
  site.pass(seconds(2));
  REQUIRE(sets(site).size() == 1);
  const ReadingSet set = sets(site).front();
  CHECK(set.after == seconds(1));
  for (const char* name : {"load J1", "load J4", "travel J1", "movement HEAD highest", "movement HEAD lowest", "movement BASE_A lowest"})
    CHECK(set.values.find(name) != std::string::npos);
  CHECK(number(set, "travel J1") == Approx(23).epsilon(1e-3));
}

TEST_CASE("a set in whose window nothing good was read says so") {
  Site site = raising(seconds(1));
  load_to(site, 0.5);
  site.pass(seconds(3));
  site.is_dead("S1");
  site.pass(seconds(3));
  REQUIRE(sets(site).size() == 2);
  CHECK(sets(site)[1].values.find("travel J1 never-read") != std::string::npos);
}

TEST_CASE("a load that leaves its band for too long begins the sets anew") {
  Site site = raising(seconds(1));
  load_to(site, 0.5);
  site.pass(seconds(2));
  load_to(site, 0.45);
  site.pass(seconds(11));
  CHECK(site.state().run.reading_sets == 0);
  CHECK_FALSE(site.state().set_taking);
}

}  // namespace standfast::test
