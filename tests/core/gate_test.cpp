// A limit with a gate: out of force only while fresh good readings say so.
#include <catch2/catch.hpp>

#include <algorithm>

#include "tests/support/site.hpp"

namespace standfast::test {
namespace {

// The second step of raising, with one more limit: the head's hold counts only while the jacks bear a tenth of the column.
Site gated_site() {
  Site site("002-to-full-step");
  auto job = std::make_shared<Job>(site.job());
  std::vector<Limit>& limits = job->plan.stages[site.state().run.stage].limits;
  const auto named = [&](const std::string& name) {
    return *std::find_if(limits.begin(), limits.end(), [&](const Limit& limit) { return limit.name == name; });
  };
  Limit gated = named("head");
  gated.name = "gated";
  gated.stop.reset();
  gated.when = named("share, share J1 from planned").when;
  limits.push_back(gated);
  site.tell(JobInForce{job});
  site.pass(seconds(15));
  return site;
}

const LimitMemory& gated(const Site& site) {
  const auto& all = site.state().limits;
  return *std::find_if(all.begin(), all.end(), [](const LimitMemory& each) { return each.name == "gated"; });
}

}  // namespace

TEST_CASE("a limit is out of force while its gate says so, and in force again when it no longer does") {
  Site site = gated_site();
  CHECK_FALSE(gated(site).gated_off);
  load_to(site, 0.05);
  site.pass(seconds(1));
  CHECK(gated(site).gated_off);
  load_to(site, 0.25);
  site.pass(seconds(1));
  CHECK_FALSE(gated(site).gated_off);
}

TEST_CASE("a bad or a doubted gate keeps its limit in force") {
  Site site = gated_site();
  load_to(site, 0.05);
  site.pass(seconds(1));
  REQUIRE(gated(site).gated_off);
  SECTION("bad") { site.is_dead("P1"); }
  SECTION("saturated, so in doubt") { site.shows("P1", -60 * bar); }
  site.pass(seconds(3));
  CHECK_FALSE(gated(site).gated_off);
  for (const char* gauge : {"G1", "G2"}) site.shows(gauge, 1.4 * mm);
  site.pass(seconds(3));
  CHECK(site.has("gated", Level::hold));
}

}  // namespace standfast::test
