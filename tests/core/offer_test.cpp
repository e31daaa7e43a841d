// What comes into force was offered first, so that two persons look at the same bytes.
#include <catch2/catch.hpp>

#include "tests/support/site.hpp"

namespace standfast::test {
namespace {

std::string offer(Site& site, const std::string& revision) { return site.act({.what = Act::offer, .value = revision, .by = technician}); }
std::string adopt(Site& site, const std::string& revision) {
  return site.act({.what = Act::adopt, .value = revision, .by = engineer, .with = supervisor});
}

}  // namespace

TEST_CASE("a revision that was not offered, or not as the last one, cannot be adopted") {
  Site site("002-to-full-step");
  CHECK(adopt(site, "aaaa") == "not-offered");
  CHECK(offer(site, "aaaa") == "done");
  CHECK(adopt(site, "aaaa") == "done");
  CHECK(offer(site, "bbbb") == "done");
  CHECK(adopt(site, "aaaa") == "not-offered");
  CHECK(adopt(site, "bbbb") == "done");
}

TEST_CASE("what was on the screen before an offer does not serve to adopt it") {
  Site site("002-to-full-step");
  REQUIRE(offer(site, "aaaa") == "done");
  CHECK(site.act({.what = Act::adopt, .value = "aaaa", .by = engineer, .with = supervisor, .pictures_old = 1}) == "picture-changed");
}

}  // namespace standfast::test
