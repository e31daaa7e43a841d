// A unit or gateway that goes on answering what it answered before.
#include "daemon/core/unit_watch.hpp"

#include <catch2/catch.hpp>

#include "tests/core/small_site.hpp"
#include "tests/support/steady_random.hpp"

namespace standfast::test {
namespace {

// The small site with its pressures on unit 1 and its gauges on unit 2 of one bus.
struct TwoUnits : SmallSite {
  SteadyRandom random{7};

  TwoUnits() {
    job.rig.buses[0] = {"gauges", ModbusTcp{}, milliseconds(200), {}, {}};
    job.rig.channels[T1].resolution = 0.1;  // K, a count.
    job.polls.blocks[0].unit_id = 1;
    job.polls.blocks[1].unit_id = 2;
    restart();
  }
  // Every 100 ms; what flickers does so by a few counts, too few for a twin to be thought frozen.
  void go_on(Duration time, bool pressures_flicker, bool gauges_flicker, Duration every = milliseconds(100)) {
    for (const Instant until = now + time; now < until;) {
      wait(every);
      if (pressures_flicker) pressures[P1] = static_cast<std::uint16_t>(12000 + random.below(21));
      if (gauges_flicker) set_gauge(G1, 5000 + static_cast<int>(random.below(5)));
      read();
    }
  }
  bool doubted(std::uint16_t place) const { return channel(place).cause == Cause::unit_frozen; }
  std::vector<std::string> frozen() const {
    std::vector<std::string> names;
    for (const FrozenUnit& unit : frozen_units(values.watches, job)) names.push_back(unit.name);
    return names;
  }
};

using Names = std::vector<std::string>;

}  // namespace

TEST_CASE("a unit that flickered for a minute and then answers the same for ten seconds is frozen, and its numbers are doubted") {
  TwoUnits site;
  site.go_on(minutes(2), true, true);
  site.set_gauge(G1, site.gauges[0] == 5000 ? 5001 : 5000);  // The newest change is known to the test.
  site.go_on(milliseconds(100), true, false);
  site.go_on(milliseconds(9900), true, false);
  CHECK(site.frozen().empty());
  site.go_on(milliseconds(100), true, false);
  CHECK(site.frozen() == Names{"unit 2 on bus gauges"});
  for (const std::uint16_t place : {G1, G2, G5, S1, T1}) {
    CHECK(site.doubted(place));
    CHECK(site.channel(place).quality == Quality::uncertain);
    CHECK(site.values.channels[place].steadied.cause == Cause::unit_frozen);
  }
  CHECK(site.channel(P1).quality == Quality::good);
}

TEST_CASE("a frozen unit is believed again with the first change, and is judged again only when it has flickered for a minute") {
  TwoUnits site;
  site.go_on(minutes(2), false, true);
  site.go_on(seconds(11), true, false);
  REQUIRE(site.doubted(G2));
  site.go_on(milliseconds(500), false, true);
  CHECK(site.frozen().empty());
  CHECK(site.channel(G2).quality == Quality::good);
  site.go_on(seconds(50), false, true);
  site.go_on(minutes(2), true, false);
  CHECK(site.frozen().empty());
  site.go_on(seconds(70), false, true);
  site.go_on(seconds(11), true, false);
  CHECK(site.frozen() == Names{"unit 2 on bus gauges"});
}

TEST_CASE("where everything behind a bus stands still the bus is frozen, a unit that never flickered with it") {
  TwoUnits site;
  site.go_on(minutes(2), true, false);
  site.go_on(seconds(11), false, false);
  CHECK(site.frozen() == Names{"bus gauges"});
  CHECK(site.doubted(P1));
  CHECK(site.doubted(G1));
}

TEST_CASE("a unit of coarse gauges is never frozen, however long it stands") {
  TwoUnits site;
  for (int i = 0; i < 3000; ++i) {  // At the edge between two steps for five minutes.
    site.set_gauge(T1, 200 + static_cast<int>(site.random.below(2)));
    site.go_on(milliseconds(100), true, false);
  }
  site.go_on(minutes(10), true, false);
  CHECK(site.frozen().empty());
}

TEST_CASE("what has only risen and then stands is not frozen") {
  TwoUnits site;
  for (int i = 0; i < 1500; ++i) {
    site.pressures[P1] = static_cast<std::uint16_t>(5000 + 5 * i);
    site.go_on(milliseconds(100), false, false);
  }
  site.go_on(minutes(2), false, false);
  CHECK(site.frozen().empty());
}

TEST_CASE("strokes of a pump are no flicker") {
  TwoUnits site;
  site.progress.oil_flows = true;
  site.go_on(minutes(3), true, true);
  site.progress.oil_flows = false;
  site.go_on(minutes(2), false, false);
  CHECK(site.frozen().empty());
}

TEST_CASE("a unit known to flicker is found frozen while oil flows, too") {
  TwoUnits site;
  site.go_on(minutes(2), true, true);
  site.progress.oil_flows = true;
  site.go_on(minutes(3), true, true);
  site.go_on(seconds(11), false, false);
  CHECK(site.frozen() == Names{"bus gauges"});
}

TEST_CASE("a flicker that stays away for more than ten seconds has to last for a minute anew") {
  TwoUnits site;
  site.go_on(seconds(55), false, true);
  site.go_on(seconds(11), true, false);
  site.go_on(seconds(55), false, true);
  site.go_on(seconds(30), true, false);
  CHECK(site.frozen().empty());
}

TEST_CASE("ten seconds without an answer are no ten seconds of the same answer") {
  TwoUnits site;
  site.go_on(minutes(2), true, true);
  for (int i = 0; i < 150; ++i) {
    site.wait(milliseconds(100));
    site.scan(0, site.pressures);
    site.lose(1, Flaw::no_answer);
  }
  site.go_on(milliseconds(9900), true, false);
  CHECK(site.frozen().empty());
  site.go_on(milliseconds(200), true, false);
  CHECK(site.frozen() == Names{"unit 2 on bus gauges"});
}

TEST_CASE("a unit that is dead for good does not hide a gateway whose others stand still") {
  TwoUnits site;
  site.go_on(minutes(2), true, true);
  REQUIRE(site.frozen().empty());
  for (int i = 0; i < 120; ++i) {
    site.wait(milliseconds(100));
    site.lose(0, Flaw::no_answer);
    site.scan(1, site.gauges);
  }
  CHECK(site.frozen() == Names{"bus gauges"});
}

}  // namespace standfast::test
