#include "daemon/core/quantity/load.hpp"

#include <catch2/catch.hpp>

#include "daemon/core/quantity/share.hpp"
#include "tests/core/small_site.hpp"

using namespace standfast;
using namespace standfast::test;

namespace {

constexpr double pi = 3.14159265358979323846;

Pressure bars(double value) { return Pressure::from_si(value * bar); }
Force kilonewtons(double value) { return Force::from_si(value * kN); }

Jack plain_jack(double bore_mm = 127.0) {
  Jack jack;
  jack.area = Area::from_si(pi * bore_mm * bore_mm / 4 * 1e-6);
  return jack;
}

// As a certificate gives it: every 100 bar from 0 to 600.
std::vector<CalibrationPoint> certificate() {
  return {{bars(0), kilonewtons(0)},       {bars(100), kilonewtons(123.0)}, {bars(200), kilonewtons(248.9)},
          {bars(300), kilonewtons(375.1)}, {bars(400), kilonewtons(500.6)}, {bars(500), kilonewtons(626.4)},
          {bars(600), kilonewtons(752.0)}};
}

double load_at(const Jack& jack, double in_bar, Direction direction = Direction::rising) {
  return advance_load(jack, bars(in_bar), direction).load.si() / kN;
}

Reading pressure(double in_bar, double uncertainty = 0) { return good(in_bar * bar, pascals, uncertainty * bar); }

Channel range_700() { return pressure_channel("P"); }

}  // namespace

// Computed by hand from p A: 12 667.7 mm2, 403.8 bar.
TEST_CASE("without a calibration the load is pressure times piston area") {
  CHECK(plain_jack().area.si() * 1e6 == Approx(12667.7).epsilon(1e-5));
  CHECK(load_at(plain_jack(), 403.8) == Approx(511.5).epsilon(1e-4));
  CHECK(load_at(plain_jack(), 330.4) == Approx(418.5).epsilon(2e-4));
}

// Computed: (133.4 / 127.0)2 - 1.
TEST_CASE("a piston entered too large by 5 % in diameter shows a load too high by 10.33 %") {
  CHECK(load_at(plain_jack(133.4), 400) / load_at(plain_jack(127.0), 400) == Approx(1.1033).epsilon(1e-4));
}

// Computed: 500.6 + 3.8 / 100 x (626.4 - 500.6) = 505.38 kN; the straight fit to all points gives 505.4, the quadratic 505.0.
TEST_CASE("between two points of the certificate the load lies on the line between them") {
  Jack jack = plain_jack();
  jack.rising = certificate();
  CHECK(load_at(jack, 403.8) == Approx(505.3804).epsilon(1e-9));
  CHECK(load_at(jack, 400) == Approx(500.6).epsilon(1e-12));
  CHECK(load_at(jack, 600) == Approx(752.0).epsilon(1e-12));
  CHECK_FALSE(advance_load(jack, bars(600), Direction::rising).beyond_calibration);
}

TEST_CASE("below the first point the load lies on the line from the origin") {
  Jack jack = plain_jack();
  jack.rising = {{bars(100), kilonewtons(120)}, {bars(200), kilonewtons(250)}};
  CHECK(load_at(jack, 50) == Approx(60));
  CHECK(load_at(jack, 0) == 0);
}

TEST_CASE("beyond the last point the larger of the extended curve and p A counts, and it is doubted") {
  Jack jack = plain_jack();
  jack.rising = certificate();
  const LoadNumber low_curve = advance_load(jack, bars(650), Direction::rising);
  CHECK(low_curve.beyond_calibration);
  CHECK(low_curve.load.si() / kN == Approx(650 * 1.26677).epsilon(1e-4));  // p A; the curve gives 814.8.

  jack.rising.back().load = kilonewtons(790);
  CHECK(load_at(jack, 650) == Approx(790 + (790 - 626.4) / 2).epsilon(1e-9));
  CHECK(jack_load(jack, Direction::rising, pressure(650), {}).high.cause == Cause::beyond_calibration);
  CHECK(jack_load(jack, Direction::rising, pressure(650), {}).high.quality == Quality::uncertain);
}

TEST_CASE("each direction has its own curve") {
  Jack jack = plain_jack();
  jack.rising = {{bars(0), kilonewtons(0)}, {bars(500), kilonewtons(620)}};
  jack.falling = {{bars(0), kilonewtons(0)}, {bars(500), kilonewtons(650)}};
  CHECK(load_at(jack, 250, Direction::rising) == Approx(310));
  CHECK(load_at(jack, 250, Direction::falling) == Approx(325));
}

TEST_CASE("a direction without a curve takes the larger of the other one and p A") {
  Jack jack = plain_jack();
  jack.rising = {{bars(0), kilonewtons(0)}, {bars(500), kilonewtons(620)}};
  CHECK(load_at(jack, 250, Direction::falling) == Approx(250 * 1.26677).epsilon(1e-4));
  jack.rising[1].load = kilonewtons(700);
  CHECK(load_at(jack, 250, Direction::falling) == Approx(350));
}

TEST_CASE("the direction turns when the pressure has come back by more than 1 % of the range") {
  JackState jack;
  const Channel channel = range_700();
  const auto take = [&](double in_bar) { take_pressure(jack, channel, pressure(in_bar)); return jack.direction; };
  take(100);
  CHECK(take(400) == Direction::rising);
  CHECK(take(393) == Direction::rising);  // Just 7 bar: within.
  CHECK(take(392.99) == Direction::falling);
  CHECK(take(300) == Direction::falling);
  CHECK(take(307) == Direction::falling);
  CHECK(take(307.01) == Direction::rising);
}

TEST_CASE("after a turn the pressure is measured from where it turned") {
  JackState jack;
  for (const double in_bar : {400.0, 392.0, 401.0}) take_pressure(jack, range_700(), pressure(in_bar));
  CHECK(jack.direction == Direction::rising);
}

TEST_CASE("a bad pressure turns nothing") {
  JackState jack;
  take_pressure(jack, range_700(), pressure(400));
  Reading bad = pressure(0);
  bad.quality = Quality::bad;
  take_pressure(jack, range_700(), bad);
  CHECK(jack.direction == Direction::rising);
}

TEST_CASE("pressure on the retract side takes load away") {
  Jack jack = plain_jack();
  jack.retract = ChannelId{std::size_t{1}};
  jack.retract_area = Area::from_si(0.005);
  const Judged load = jack_load(jack, Direction::rising, pressure(400), pressure(20));
  CHECK(load.high.value.si / kN == Approx(400 * 1.266769 - 20 * 0.5).epsilon(1e-6));
}

TEST_CASE("a jack whose retract side is not read has no load") {
  Jack jack = plain_jack();
  jack.retract = ChannelId{std::size_t{1}};
  jack.retract_area = Area::from_si(0.005);
  const Judged load = jack_load(jack, Direction::rising, pressure(400), bad_reading(Cause::no_answer, pascals, {}));
  CHECK(load.high.quality == Quality::bad);
  CHECK(load.high.cause == Cause::no_answer);
}

// Computed: 0.5 % of 700 bar, rectangular, is 2.0207 bar; times 12 667.7 mm2 2.560 kN, 0.50 % of 511.5 kN.
TEST_CASE("the uncertainty of a load is that of its pressure times the area") {
  const Judged load = jack_load(plain_jack(), Direction::rising, pressure(403.8, 3.5 / std::sqrt(3.0)), {});
  CHECK(load.high.uncertainty / kN == Approx(2.560).epsilon(1e-3));
  CHECK(load.high.uncertainty / load.high.value.si == Approx(0.0050).epsilon(2e-3));
}

TEST_CASE("a sum of loads adds the uncertainties of different transducers in squares, those of one as they stand") {
  const Judged part = judged(good(100 * kN, newtons, 3 * kN));
  const auto sum = [&](std::size_t a, std::size_t b) {
    Loads loads;
    loads.add(part, ChannelId{a});
    loads.add(part, ChannelId{b});
    return loads.sum().sum.high.uncertainty / kN;
  };
  CHECK(sum(0, 1) == Approx(4.2426).epsilon(1e-4));
  CHECK(sum(0, 0) == Approx(6));
}

TEST_CASE("a bad part makes the sum bad, and the count says how many answer") {
  Loads loads;
  for (std::size_t j = 0; j < 3; ++j) loads.add(judged(good(100 * kN, newtons)), ChannelId{j});
  loads.add(judged(bad_reading(Cause::loop_low, newtons, {})), ChannelId{std::size_t{3}});
  const LoadSum sum = loads.sum();
  CHECK(sum.sum.high.quality == Quality::bad);
  CHECK(sum.sum.high.cause == Cause::loop_low);
  CHECK(sum.parts == 4);
  CHECK(sum.answering == 3);
}

TEST_CASE("an uncertain part makes the sum uncertain and leaves its number") {
  Loads loads;
  Reading doubted = good(100 * kN, newtons);
  doubted.quality = Quality::uncertain;
  doubted.cause = Cause::certificate_overdue;
  loads.add(judged(doubted), ChannelId{std::size_t{0}});
  loads.add(judged(good(50 * kN, newtons)), ChannelId{std::size_t{1}});
  CHECK(equal(loads.sum().sum, 150 * kN));
  CHECK(loads.sum().sum.high.cause == Cause::certificate_overdue);
}

TEST_CASE("a part off the scale puts the whole sum beyond every bound on its side and on no other") {
  Loads loads;
  Reading saturated = good(800 * kN, newtons);
  saturated.quality = Quality::uncertain;
  saturated.cause = Cause::saturated_high;
  saturated.saturated = Saturation::high;
  loads.add(judged(saturated), ChannelId{std::size_t{0}});
  loads.add(judged(good(50 * kN, newtons)), ChannelId{std::size_t{1}});
  const Judged sum = loads.sum().sum;
  CHECK(sum.high.saturated == Saturation::high);
  CHECK(sum.low.saturated == Saturation::none);
}

// Computed: 540, 410, 505, 425 kN; sum 1880 kN, shares 28.72, 21.81, 26.86, 22.61 %, 101.1 % of 1860 kN.
TEST_CASE("shares are of the whole, and their departure is from the planned share") {
  const double loads_kN[] = {540, 410, 505, 425}, shares[] = {28.72, 21.81, 26.86, 22.61}, planned[] = {27.5, 22.5, 27.5, 22.5};
  const Judged total = judged(good(1880 * kN, newtons));
  for (int i = 0; i < 4; ++i) {
    const Judged load = judged(good(loads_kN[i] * kN, newtons));
    CHECK(share(load, total).high.value.si * 100 == Approx(shares[i]).epsilon(3e-4));
    CHECK(share_from_planned(load, total, Ratio::from_si(planned[i] / 100)).high.value.si * 100 ==
          Approx(shares[i] - planned[i]).margin(0.006));
  }
  CHECK(transferred(total, kilonewtons(1860)).high.value.si * 100 == Approx(101.1).epsilon(3e-4));
}

TEST_CASE("there is no share of nothing") {
  const Judged none = share(judged(good(0, newtons)), judged(good(0, newtons)));
  CHECK(none.high.quality == Quality::bad);
  CHECK(none.high.cause == Cause::no_reference);
  CHECK(share(judged(good(1, newtons)), judged(good(-5, newtons))).high.quality == Quality::bad);
}

TEST_CASE("a share of what is off the scale is beyond every bound on both sides") {
  Reading saturated = good(1880 * kN, newtons);
  saturated.quality = Quality::uncertain;
  saturated.cause = Cause::saturated_high;
  saturated.saturated = Saturation::high;
  const Judged value = share(judged(good(400 * kN, newtons)), judged(saturated));
  CHECK(value.high.saturated == Saturation::high);
  CHECK(value.low.saturated == Saturation::low);
}

// Computed: four equal independent parts of 100 +- 2 kN: u(s) = sqrt((0.75 x 2)2 + (0.25)2 x 3 x 4) / 400 = 0.00433.
TEST_CASE("the uncertainty of a share comes from its own load and from the others'") {
  const Judged value = share(judged(good(100 * kN, newtons, 2 * kN)), judged(good(400 * kN, newtons, 4 * kN)));
  CHECK(value.high.uncertainty == Approx(0.0043301).epsilon(1e-4));
}
