// The sounder, its silence, and the call to those who are not there.
#include <catch2/catch.hpp>

#include "tests/support/site.hpp"

namespace standfast::test {
namespace {

Site quiet() {
  Site site("002-to-full-step");
  site.pass(seconds(1));
  REQUIRE(site.newest().sound == Sound::silent);
  return site;
}

void hold(Site& site) { site.tell(QueueOverflow{1}); }

std::string silence(Site& site, const std::string& time) { return site.act({.what = Act::silence, .value = time}); }

// Nobody stands by: the baseline stage of the scenarios calls out after a minute of HOLD.
Site unattended() {
  Site site = quiet();
  REQUIRE(site.act({.what = Act::stage_abandon, .by = supervisor}) == "done");
  REQUIRE(site.act({.what = Act::stage_enter, .object = "Baseline", .by = supervisor}) == "done");
  site.pass(seconds(1));
  REQUIRE(site.newest().wanted[OutputKind::call_out]);
  return site;
}

}  // namespace

TEST_CASE("HOLD and STOP sound differently, until somebody has seen them") {
  Site site = quiet();
  hold(site);
  CHECK(site.newest().sound == Sound::hold);
  CHECK(site.newest().wanted[OutputKind::sounder]);
  site.act({.what = Act::acknowledge});
  CHECK(site.newest().sound == Sound::silent);
  site.act({.what = Act::stop});
  CHECK(site.newest().sound == Sound::stop);
}

TEST_CASE("silence lasts as long as asked, at most two minutes, and changes nothing else") {
  Site site = quiet();
  hold(site);
  CHECK(silence(site, "60 s") == "done");
  CHECK(site.newest().sound == Sound::silent);
  CHECK(site.signal() == Level::hold);
  CHECK(site.newest().wanted[OutputKind::beacon]);
  site.pass(seconds(59), seconds(1));
  CHECK(site.newest().sound == Sound::silent);
  site.pass(seconds(2), seconds(1));
  CHECK(site.newest().sound == Sound::hold);
  silence(site, "1 h");
  site.pass(seconds(119), seconds(1));
  CHECK(site.newest().sound == Sound::silent);
  site.pass(seconds(2), seconds(1));
  CHECK(site.newest().sound == Sound::hold);
}

TEST_CASE("a new alarm ends a silence") {
  Site site = quiet();
  hold(site);
  silence(site, "2 min");
  site.tell(GivingNotDurable{1});
  CHECK(site.newest().sound == Sound::hold);
}

TEST_CASE("an alarm that trips again ends a silence like a new one, and a STOP sounds for its thirty seconds") {
  Site site = quiet();
  const auto trip = [&](double to) {
    site.shows("B1", to);
    site.pass(seconds(2));
  };
  trip(7 * mm);
  REQUIRE(site.has("base A", Level::stop));
  trip(0);
  site.act({.what = Act::acknowledge});
  site.pass(seconds(31), seconds(1));
  silence(site, "2 min");
  REQUIRE(site.newest().sound == Sound::silent);
  trip(7 * mm);
  CHECK(site.newest().sound == Sound::stop);
  site.act({.what = Act::acknowledge});
  CHECK(site.newest().sound == Sound::stop);
}

TEST_CASE("a STOP is not to be silenced in its first thirty seconds, not even by acknowledging it") {
  Site site = quiet();
  site.act({.what = Act::stop});
  silence(site, "2 min");
  site.act({.what = Act::acknowledge});
  CHECK(site.newest().sound == Sound::stop);
  site.pass(seconds(29));
  CHECK(site.newest().sound == Sound::stop);
  site.pass(seconds(2));
  CHECK(site.newest().sound == Sound::silent);
}

TEST_CASE("a HOLD beside an old STOP does not begin its thirty seconds anew") {
  Site site = quiet();
  site.act({.what = Act::stop});
  site.act({.what = Act::acknowledge});
  site.pass(seconds(31));
  REQUIRE(site.newest().sound == Sound::silent);
  hold(site);
  CHECK(site.newest().sound == Sound::hold);
}

TEST_CASE("a STOP whose condition stands is told again after ten minutes") {
  Site site = quiet();
  site.shows("B1", 7 * mm);
  site.pass(seconds(2));
  REQUIRE(site.has("base A", Level::stop));
  site.act({.what = Act::acknowledge});
  site.pass(minutes(9), seconds(1));
  CHECK(site.newest().sound == Sound::silent);
  site.pass(minutes(1) + seconds(2), seconds(1));
  CHECK(site.newest().sound == Sound::stop);
}

TEST_CASE("where nobody stands by, a HOLD calls out after the plan's time") {
  Site site = unattended();
  hold(site);
  site.act({.what = Act::acknowledge});
  site.pass(seconds(59), seconds(1));
  CHECK(site.newest().wanted[OutputKind::call_out]);
  site.pass(seconds(2), seconds(1));
  CHECK_FALSE(site.newest().wanted[OutputKind::call_out]);
  reset_all(site);
  CHECK(site.newest().wanted[OutputKind::call_out]);
}

TEST_CASE("a HOLD whose condition comes and goes calls out like one that stands") {
  Site site = unattended();
  for (int second = 0; second < 61; ++second) {
    site.tell(RecordHealth{second % 10 == 0 ? RecordState::lagging : RecordState::healthy});
    site.pass(seconds(1), seconds(1));
  }
  CHECK_FALSE(site.newest().wanted[OutputKind::call_out]);
}

TEST_CASE("a STOP calls out at once, and where somebody stands by a HOLD does not") {
  Site site = quiet();
  hold(site);
  site.pass(minutes(2), seconds(1));
  CHECK(site.newest().wanted[OutputKind::call_out]);
  site.act({.what = Act::stop});
  CHECK_FALSE(site.newest().wanted[OutputKind::call_out]);
}

}  // namespace standfast::test
