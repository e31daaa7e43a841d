// One gauge steps and nothing else does: who is doubted, from when, until when, and who is not.
#include "daemon/core/step_watch.hpp"

#include <catch2/catch.hpp>

#include "tests/core/small_site.hpp"

namespace standfast::test {
namespace {

// The small site with its baseline taken. Its gauges state a resolution of 0.01 mm and no accuracy: 0.05 mm is no step yet.
struct StandingSite : SmallSite {
  StandingSite() {
    read_for(seconds(2));
    take_baseline();
  }
  bool doubted(std::uint16_t place) const { return channel(place).cause == Cause::lone_step; }
  int doubted() const {
    int count = 0;
    for (std::uint16_t c = P1; c <= T1; ++c) count += doubted(c) ? 1 : 0;
    return count;
  }
  void knock(std::uint16_t gauge, int counts) { set_gauge(gauge, gauges[static_cast<std::size_t>(gauge - G1)] + counts); }
};

}  // namespace

TEST_CASE("a gauge that steps alone is doubted once everybody has been heard half a second later; its number goes on",
          "[fault-16][trade-19]") {
  for (const std::uint16_t gauge : {G1, G3, S1}) {
    StandingSite site;
    site.knock(gauge, 60);
    site.read_for(milliseconds(500));
    CHECK(site.doubted() == 0);
    site.read_for(milliseconds(100));
    CHECK(site.doubted(gauge));
    CHECK(site.doubted() == 1);
    CHECK(site.channel(gauge).quality == Quality::uncertain);
    CHECK(site.values.channels[gauge].steadied.cause == Cause::lone_step);
    CHECK(equal(site.channel(gauge).value, {metres, (gauge == S1 ? 10.6 : 50.6) * mm}));
    site.read_for(minutes(10));
    CHECK(site.doubted() == 1);
  }
}

TEST_CASE("five resolution steps are no step, and six are one; either way up", "[trade-19]") {
  for (const int steps : {5, -5, 6, -6}) {
    StandingSite site;
    site.job.rig.channels[S1].resolution = 0.05 * mm;
    site.read_for(seconds(1));
    site.knock(S1, 5 * steps);
    site.read_for(seconds(1));
    CHECK(site.doubted(S1) == (std::abs(steps) == 6));
  }
}

// Accuracy of 0.06 mm: 0.0346 mm as a standard uncertainty, with the resolution's 0.0029 mm 0.0348 mm; of a difference
// 0.0492 mm, five times that 0.246 mm (JCGM 100:2008, 4.3.7 and 5.1.2, worked by hand).
TEST_CASE("a step is more than five standard uncertainties of the difference of two readings", "[trade-19]") {
  for (const int counts : {24, 25}) {
    StandingSite site;
    site.job.rig.channels[S1].accuracy = 0.06 * mm;
    site.read_for(seconds(2));
    site.knock(S1, counts);
    site.read_for(seconds(1));
    CHECK(site.doubted(S1) == (counts == 25));
  }
}

TEST_CASE("a float that states neither accuracy nor resolution is no nuisance: less than 0.05 mm is no knock") {
  StandingSite site;
  site.job.rig.channels[S1].resolution = 0;
  site.read_for(seconds(1));
  for (int i = 0; i < 100; ++i) {
    site.knock(S1, i % 4 < 2 ? 4 : -4);
    site.read_for(seconds(1));
    REQUIRE(site.doubted() == 0);
  }
}

TEST_CASE("one reading that leaps and comes back is a spike, and is not doubted", "[fault-16]") {
  StandingSite site;
  for (int i = 0; i < 20; ++i) {
    site.knock(S1, 60);
    site.read_for(milliseconds(100));
    REQUIRE(site.doubted() == 0);
    site.knock(S1, -60);
    site.read_for(seconds(1));
    REQUIRE(site.doubted() == 0);
  }
}

TEST_CASE("a gauge that leaps to and fro has left its place, and is doubted", "[fault-16]") {
  StandingSite site;
  for (int i = 0; i < 6; ++i) {
    site.knock(S1, i % 2 == 0 ? 60 + 60 * (i > 0) : -120);
    site.read_for(milliseconds(100));
  }
  CHECK(site.doubted(S1));
}

TEST_CASE("what a twin, another gauge, a ram or a pressure shares is no doubt", "[trade-17]") {
  for (const std::uint16_t partner : {G1, G3, S1}) {
    StandingSite site;
    site.knock(G2, -30);
    site.knock(partner, -10);
    site.read_for(seconds(5));
    CHECK(site.doubted() == 0);
  }
  StandingSite site;
  site.set_pressure(P2, 10);
  site.knock(G2, 30);
  site.read_for(seconds(5));
  CHECK(site.doubted() == 0);
}

TEST_CASE("a partner that moves by less than four fifths of a step of its own, or a temperature, shares nothing", "[trade-19]") {
  StandingSite site;
  site.set_pressure(P2, 5);  // A step of a pressure is 7.14 bar: 1.75 bar / sqrt(3) x sqrt(2) x 5.
  site.set_gauge(T1, 400);
  site.knock(G2, 30);
  site.knock(G3, 4);
  site.read_for(seconds(1));
  CHECK(site.doubted(G2));
  CHECK(site.doubted() == 1);
}

TEST_CASE("who moved long before, or moves long after, shares nothing", "[trade-19]") {
  StandingSite site;
  site.set_pressure(P1, 50);
  site.read_for(seconds(4));
  site.knock(S1, 60);
  site.read_for(seconds(1));
  CHECK(site.doubted(S1));
  site.set_pressure(P1, 100);
  site.read_for(seconds(4));
  CHECK(site.doubted(S1));
}

TEST_CASE("a partner that is asked seldom is waited for, and is heard", "[trade-17]") {
  for (const bool shares : {true, false}) {
    StandingSite site;
    site.scan(0, site.pressures);
    site.values.channels[P1].stale_after = site.values.channels[P2].stale_after = site.values.channels[P3].stale_after =
        site.values.channels[P4].stale_after = seconds(20);
    for (std::uint16_t p : {P1, P2, P3, P4}) site.values.channels[p].every = seconds(5);
    site.scan(0, site.pressures);
    const auto gauges_for = [&](Duration time) {
      for (const Instant until = site.now + time; site.now < until;) {
        site.wait(milliseconds(100));
        site.scan(1, site.gauges);
      }
    };
    gauges_for(seconds(1));
    site.knock(S1, 60);
    if (shares) site.set_pressure(P1, 20);
    gauges_for(seconds(4));
    CHECK(site.doubted() == 0);
    site.scan(0, site.pressures);
    gauges_for(seconds(1));
    CHECK(site.doubted(S1) == !shares);
  }
}

TEST_CASE("a partner that has no number is not waited for; where nobody has one, nobody is doubted", "[trade-19]") {
  StandingSite site;
  site.knock(S1, 60);
  for (int i = 0; i < 30; ++i) {
    site.wait(milliseconds(100));
    site.scan(1, site.gauges);
    site.lose(0, Flaw::no_answer);
  }
  CHECK(site.doubted(S1));

  for (const bool has_pressures : {false, true}) {
    StandingSite alone;
    for (const std::uint16_t gauge : {G1, G2, G3, G4, G5}) {
      alone.job.rig.channels[gauge].dimension = {Base::temperature, Per::none};
      alone.values.channels[gauge].step.role = StepRole::none;
    }
    if (!has_pressures)
      for (const std::uint16_t p : {P1, P2, P3, P4}) alone.values.channels[p].step.role = StepRole::none;
    alone.read_for(seconds(1));
    alone.knock(S1, 60);
    alone.read_for(seconds(1));
    CHECK(alone.doubted(S1) == has_pressures);
  }
}

TEST_CASE("a gauge that is read by hand is neither waited for nor doubted") {
  SmallSite site;
  site.job.rig.channels[G3].bus.reset();
  site.restart();
  CHECK(site.values.channels[G3].step.role == StepRole::none);
  CHECK(site.values.channels[G4].step.role == StepRole::gauge);
}

TEST_CASE("a ram that steps while oil flows, or while a permit to lower runs, is not doubted; a gauge of a point is") {
  for (const bool lowers : {false, true}) {
    StandingSite site;
    (lowers ? site.progress.oil_may_leave : site.progress.oil_flows) = true;
    site.read_for(milliseconds(200));
    site.progress = {};
    site.knock(S1, 60);
    site.read_for(seconds(5));
    CHECK(site.doubted() == 0);
    (lowers ? site.progress.oil_may_leave : site.progress.oil_flows) = true;
    site.knock(G3, 60);
    site.read_for(seconds(1));
    CHECK(site.doubted(G3));
  }
}

TEST_CASE("a pump found running only behind the step is heard in time") {
  StandingSite site;
  site.knock(S1, 60);
  site.read_for(milliseconds(400));
  site.progress.oil_flows = true;
  site.read_for(seconds(2));
  CHECK(site.doubted() == 0);
}

TEST_CASE("the doubt ends with the second reading in a row where the gauge stood before", "[trade-19]") {
  StandingSite site;
  site.knock(S1, 60);
  site.read_for(seconds(1));
  site.knock(S1, -60);
  site.read_for(milliseconds(100));
  CHECK(site.doubted(S1));
  site.knock(S1, 60);
  site.read_for(milliseconds(100));
  site.knock(S1, -57);
  site.read_for(milliseconds(100));
  CHECK(site.doubted(S1));
  site.read_for(milliseconds(100));
  CHECK(site.channel(S1).quality == Quality::good);
  site.read_for(minutes(1));
  CHECK(site.doubted() == 0);
}

TEST_CASE("a person who has looked ends the doubt, and a milder one beneath it comes to light", "[trade-19]") {
  StandingSite site;
  site.job.rig.channels[S1].certificate.due = "1969-12-31";
  site.read_for(seconds(1));
  REQUIRE(site.channel(S1).cause == Cause::certificate_overdue);
  site.knock(S1, 60);
  site.read_for(seconds(1));
  REQUIRE(site.doubted(S1));
  take_step_as_true(site.values.channels[S1]);
  CHECK(site.channel(S1).cause == Cause::certificate_overdue);
  CHECK(site.values.channels[S1].steadied.cause == Cause::certificate_overdue);
  CHECK(site.channel(S1).quality == Quality::uncertain);
  site.read_for(minutes(1));
  CHECK(site.doubted() == 0);
  site.knock(S1, -60);  // Back again is another step.
  site.read_for(seconds(1));
  CHECK(site.doubted(S1));
}

TEST_CASE("a gauge that was unplugged and stands elsewhere did not step; one that was doubted stays so", "[fault-16]") {
  for (const bool was_doubted : {false, true}) {
    StandingSite site;
    if (was_doubted) {
      site.knock(S1, 60);
      site.read_for(seconds(1));
    }
    for (int i = 0; i < 50; ++i) {
      site.wait(milliseconds(100));
      site.scan(0, site.pressures);
      site.lose(1, Flaw::no_answer);
    }
    REQUIRE(site.channel(S1).quality == Quality::bad);
    site.knock(S1, 300);
    site.read_for(seconds(5));
    CHECK(site.doubted(S1) == was_doubted);
    CHECK(site.doubted() == (was_doubted ? 1 : 0));
  }
}

TEST_CASE("a gauge that leaps and then dies did not step, wherever it comes back", "[fault-16]") {
  StandingSite site;
  site.knock(S1, 60);
  site.read_for(milliseconds(100));
  for (int i = 0; i < 50; ++i) {
    site.wait(milliseconds(100));
    site.scan(0, site.pressures);
    site.lose(1, Flaw::no_answer);
  }
  site.knock(S1, 300);
  site.read_for(seconds(5));
  CHECK(site.doubted() == 0);
}

TEST_CASE("a step that nobody could share is no doubt later, when the others are back") {
  StandingSite site;
  for (const std::uint16_t gauge : {G1, G2, G3, G4, G5}) site.values.channels[gauge].step.role = StepRole::none;
  for (int i = 0; i < 60; ++i) {
    site.wait(milliseconds(100));
    site.lose(0, Flaw::no_answer);
    if (i == 30) site.knock(S1, 60);
    site.scan(1, site.gauges);
  }
  REQUIRE(site.channel(P1).quality == Quality::bad);
  site.read_for(seconds(5));
  CHECK(site.doubted() == 0);
}

TEST_CASE("a partner that comes back at another number, or is in doubt itself, shares nothing", "[trade-19]") {
  StandingSite site;
  for (int i = 0; i < 50; ++i) {
    site.wait(milliseconds(100));
    site.lose(0, Flaw::no_answer);
    site.scan(1, site.gauges);
  }
  site.set_pressure(P1, 50);
  site.read_for(milliseconds(300));
  site.knock(S1, 60);
  site.read_for(seconds(1));
  CHECK(site.doubted(S1));

  for (int i = 0; i < 20; ++i) {
    if (i == 10) site.knock(G3, 60);
    site.knock(S1, i % 2 == 0 ? 60 : -60);
    site.read_for(milliseconds(100));
  }
  CHECK(site.doubted(G3));
}

TEST_CASE("two lost polls hide no step", "[fault-16]") {
  StandingSite site;
  for (int i = 0; i < 2; ++i) {
    site.wait(milliseconds(100));
    site.lose(1, Flaw::no_answer);
  }
  site.knock(S1, 60);
  site.read_for(seconds(1));
  CHECK(site.doubted(S1));
}

TEST_CASE("before anything counts from where a gauge stands it may be set at will; while the baseline is taken one reading is doubted") {
  SmallSite site;
  site.read_for(seconds(2));
  const auto readings_doubted = [&] {
    int count = 0;
    for (int i = 0; i < 50; ++i) {
      site.read_for(milliseconds(100));
      count += site.channel(S1).cause == Cause::lone_step ? 1 : 0;
    }
    return count;
  };
  site.set_gauge(S1, 2000);
  CHECK(readings_doubted() == 0);
  site.progress.baseline_is_taken = true;
  CHECK(readings_doubted() == 0);
  site.set_gauge(S1, 3000);
  CHECK(readings_doubted() == 1);
}

TEST_CASE("another revision forgets no doubt", "[trade-19]") {
  StandingSite site;
  site.knock(S1, 60);
  site.read_for(seconds(1));
  Job revised = site.job;
  revised.rig.channels[S1].every = milliseconds(200);
  site.values = carry_over(site.values, site.job, revised);
  site.job = revised;
  CHECK(site.doubted(S1));
  site.read_for(seconds(1));
  CHECK(site.doubted(S1));
}

TEST_CASE("a raise, strokes of a pump, a drift and a column that lets go are no lone steps", "[trade-17]") {
  StandingSite site;
  double stroke = 0;
  const auto show = [&](double in_bar, double head) {
    for (const std::uint16_t p : {P1, P2, P3, P4}) site.set_pressure(p, in_bar);
    site.set_gauge(S1, 1000 + static_cast<int>(std::lround(stroke * 100)));
    for (const std::uint16_t g : {G1, G2}) site.set_gauge(g, 5000 + static_cast<int>(std::lround(head * 100)));
  };
  site.progress.oil_flows = true;
  for (int i = 0; i < 300; ++i) {  // 0.5 mm a second by strokes of half a second, 5 bar each.
    if (i % 5 == 0) stroke += 0.25;
    show(10 + i, 0.02 * stroke);
    site.read_for(milliseconds(100));
  }
  site.progress.oil_flows = false;
  site.read_for(seconds(10));
  for (int i = 0; i < 600; ++i) {  // Warming up: one gauge drifts by 0.04 mm a second.
    site.set_gauge(G4, 5000 + (i * 4) / 10);
    site.read_for(milliseconds(100));
  }
  show(290, 0.02 * stroke - 0.4);  // The column lets go: head and pressures.
  site.read_for(seconds(10));
  CHECK(site.doubted() == 0);
}

}  // namespace standfast::test
