// The sounder's test: it sounds, a person says what was heard, and a sounder that was not heard is a HOLD.
#include <catch2/catch.hpp>

#include "tests/support/site.hpp"

namespace standfast::test {
namespace {

Site quiet() { return Site("002-to-full-step"); }

std::string sound(Site& site) { return site.act({.what = Act::prove_start, .object = "sounder", .by = technician}); }
std::string say(Site& site, const std::string& what, const PersonClaim& by = technician) {
  return site.act({.what = Act::prove_end, .object = "sounder", .value = what, .by = by});
}

std::optional<ProofResult> result(const Site& site) {
  std::optional<ProofResult> found;
  for (const EffectRow& row : site.rows)
    if (const auto* each = std::get_if<ProofResult>(&row)) found = *each;
  return found;
}

}  // namespace

TEST_CASE("the sounder's test sounds HOLD for three seconds, STOP for three, and is quiet then") {
  Site site = quiet();
  REQUIRE(sound(site) == "done");
  CHECK(site.newest().sound == Sound::hold);
  CHECK(site.newest().wanted[OutputKind::sounder]);
  site.pass(milliseconds(3100));
  CHECK(site.newest().sound == Sound::stop);
  site.pass(seconds(3));
  CHECK(site.newest().sound == Sound::silent);
  CHECK_FALSE(site.newest().wanted[OutputKind::sounder]);
  CHECK(site.signal() == Level::none);
}

TEST_CASE("what was heard is said by a person, by name, once for each test") {
  Site site = quiet();
  CHECK(say(site, "heard") == "no-proof");
  REQUIRE(sound(site) == "done");
  CHECK(say(site, "loud") == "unreadable");
  CHECK(say(site, "heard", nobody) == "not-permitted");
  site.pass(milliseconds(5900));
  CHECK(say(site, "heard") == "too-early");
  site.pass(milliseconds(100));
  CHECK(say(site, "heard") == "done");
  REQUIRE(result(site));
  CHECK(result(site)->passed);
  CHECK(result(site)->proof == "sounder");
  CHECK(say(site, "heard") == "no-proof");
}

TEST_CASE("a sounder that was not heard is a HOLD until one has been heard") {
  Site site = quiet();
  REQUIRE(sound(site) == "done");
  site.pass(seconds(7));
  REQUIRE(say(site, "not heard") == "done");
  CHECK(site.has("sounder not heard", Level::hold));
  CHECK(site.signal() == Level::hold);
  site.act({.what = Act::acknowledge});
  CHECK(site.act({.what = Act::reset, .by = engineer, .with = supervisor}) == "condition-present");
  REQUIRE(sound(site) == "done");
  site.pass(seconds(6));
  REQUIRE(say(site, "heard") == "done");
  site.pass(seconds(1));
  CHECK(site.act({.what = Act::reset, .by = supervisor}) == "done");
  CHECK(site.signal() == Level::none);
}

TEST_CASE("an alarm sounds before a test, and a test does not begin while one sounds") {
  Site site = quiet();
  REQUIRE(sound(site) == "done");
  site.act({.what = Act::stop});
  CHECK(site.newest().sound == Sound::stop);
  site.pass(seconds(10));
  CHECK(site.newest().sound == Sound::stop);
  CHECK(sound(site) == "sounding");
  site.pass(seconds(25));
  REQUIRE(site.act({.what = Act::silence}) == "done");
  CHECK(site.newest().sound == Sound::silent);
  REQUIRE(sound(site) == "done");
  CHECK(site.newest().sound == Sound::hold);
}

TEST_CASE("a restart ends a sounder's test without an answer") {
  Site site = quiet();
  REQUIRE(sound(site) == "done");
  site.tell(Started{"a boot", "a test", false});
  site.tell(JobInForce{site.shared_job()});
  CHECK(say(site, "heard") == "no-proof");
}

TEST_CASE("a sounder that was not heard stays a HOLD under another rig that has one") {
  Site site = quiet();
  REQUIRE(sound(site) == "done");
  REQUIRE(say(site, "not heard") == "done");
  auto other = std::make_shared<Job>(site.job());
  other->rig_sha256 = std::string(64, '4');
  site.tell(JobInForce{other});
  site.pass(seconds(3));
  reset_all(site);
  CHECK(site.has("sounder not heard", Level::hold));
}

}  // namespace standfast::test
