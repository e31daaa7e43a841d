// What movement is counted from: a mark that has been taken stands, whatever gauge is swapped.
#include <catch2/catch.hpp>

#include "tests/support/site.hpp"

namespace standfast::test {
namespace {

std::size_t channel(const Site& site, const std::string& name) {
  const auto& all = site.job().rig.channels;
  for (std::size_t c = 0; c < all.size(); ++c)
    if (all[c].name == name) return c;
  FAIL("no channel " << name);
  return 0;
}

double baseline_of(const Site& site, const std::string& name) {
  const auto& value = site.state().values.references.baseline.channels.at(channel(site, name));
  REQUIRE(value);
  return value->value;
}

}  // namespace

TEST_CASE("a swapped gauge gets a baseline of its own, and no other gauge loses its movement") {
  Site site("002-to-full-step");
  const double before = baseline_of(site, "G1");
  for (const char* gauge : {"G1", "G2"}) site.shows(gauge, before + 0.7 * mm);
  site.pass(seconds(1));
  auto other = std::make_shared<Job>(site.job());
  other->rig.channels[channel(site, "B1")].scale.value_high *= 2;
  other->rig_sha256 = std::string(64, '4');
  site.tell(JobInForce{other});
  REQUIRE_FALSE(site.state().values.references.baseline.channels[channel(site, "B1")]);
  REQUIRE(site.act({.what = Act::stage_abandon, .by = supervisor}) == "done");
  REQUIRE(site.act({.what = Act::stage_enter, .object = "Baseline", .by = supervisor}) == "done");
  site.pass(seconds(6));
  CHECK(baseline_of(site, "G1") == before);
  CHECK(site.state().values.references.baseline.channels[channel(site, "B1")]);
}

}  // namespace standfast::test
