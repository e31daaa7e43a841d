#include "daemon/core/quantity/stiffness.hpp"

#include <catch2/catch.hpp>

#include "tests/core/small_site.hpp"

using namespace standfast;
using namespace standfast::test;

namespace {

const StageId raising{std::size_t{3}};
const JackId jack{std::size_t{0}};

StiffnessWindow raised(int steps, double kN_per_mm) {
  StiffnessWindow window;
  for (int i = 0; i < steps; ++i) {
    const double travel = i * 0.1 * mm;
    window.add(judged(good(100 * kN + travel * kN_per_mm * 1e6, newtons)), good(travel, metres), 0.01 * mm, raising);
  }
  return window;
}

Step step(double load_kN, double travel_mm) {
  Step result;
  result.targets = {{jack, Force::from_si(load_kN * kN), Force::from_si(500 * kN)}};
  result.predicted = {{jack, Length::from_si(travel_mm * mm), Length::from_si(0.1 * mm)}};
  return result;
}

Plan plan(std::vector<Step> steps) {
  Plan result;
  result.stages.resize(1);
  result.stages[0].steps = std::move(steps);
  return result;
}

double travel_at(const Plan& p, double load_kN) { return predicted_at(p, jack, Force::from_si(load_kN * kN))->travel / mm; }

}  // namespace

TEST_CASE("the stiffness ratio is the slope of load on travel over the predicted one") {
  const Judged value = raised(20, 62).ratio(82.6e6, {});
  CHECK(value.high.value.si == Approx(62 / 82.6).epsilon(1e-9));
  CHECK(value.high.quality == Quality::good);
}

TEST_CASE("a ram that has not moved five times tells nothing about stiffness") {
  CHECK(raised(4, 62).ratio(82.6e6, {}).high.cause == Cause::filling);
  StiffnessWindow resting;
  for (int i = 0; i < 100; ++i) resting.add(judged(good(i * kN, newtons)), good(i % 4 * 0.01 * mm, metres), 0.01 * mm, raising);
  CHECK(resting.pairs.size() == 1);
  CHECK(StiffnessWindow{}.ratio(82.6e6, {}).high.cause == Cause::filling);
}

TEST_CASE("stiffness without a prediction has nothing to be compared with") {
  CHECK(raised(20, 62).ratio(std::nullopt, {}).high.cause == Cause::no_reference);
}

TEST_CASE("stiffness looks at the last thirty-two pairs of this stage") {
  StiffnessWindow window = raised(100, 62);
  CHECK(window.pairs.size() == 32);
  window.add(judged(good(0, newtons)), good(0, metres), 0.01 * mm, StageId{std::size_t{4}});
  CHECK(window.pairs.size() == 1);
}

TEST_CASE("a bad load or travel makes no pair; a doubted one makes the ratio doubted") {
  StiffnessWindow window = raised(20, 62);
  window.add(judged(bad_reading(Cause::loop_low, newtons, {})), good(0.05, metres), 0.01 * mm, raising);
  CHECK(window.pairs.size() == 20);
  Reading doubted = good(300 * kN, newtons);
  doubted.quality = Quality::uncertain;
  doubted.cause = Cause::beyond_calibration;
  window.add(judged(doubted), good(0.05, metres), 0.01 * mm, raising);
  CHECK(window.ratio(82.6e6, {}).high.cause == Cause::beyond_calibration);
}

TEST_CASE("the prediction runs straight from nothing through the plan's steps and on beyond the last") {
  const Plan p = plan({step(100, 2), step(300, 4)});
  CHECK(travel_at(p, 0) == Approx(0).margin(1e-12));
  CHECK(travel_at(p, 50) == Approx(1));
  CHECK(travel_at(p, 100) == Approx(2));
  CHECK(travel_at(p, 200) == Approx(3));
  CHECK(travel_at(p, 400) == Approx(5));
  CHECK(predicted_at(p, jack, Force::from_si(200 * kN))->slope == Approx(100e6));
}

TEST_CASE("steps that go back are no part of the prediction, and a jack without one has none") {
  CHECK(travel_at(plan({step(100, 2), step(50, 1), step(300, 4)}), 200) == Approx(3));
  CHECK_FALSE(predicted_at(plan({}), jack, Force{}));
  CHECK_FALSE(predicted_at(plan({step(100, 2)}), JackId{std::size_t{1}}, Force{}));
}

TEST_CASE("departure is ram travel less the prediction for the load it carries") {
  const Plan p = plan({step(100, 2), step(300, 4)});
  const Judged travel = judged(good(3.4 * mm, metres, 0.03 * mm)), load = judged(good(200 * kN, newtons, 4 * kN));
  const Judged value = departure(travel, load, p, jack);
  CHECK(equal(value, 0.4 * mm));
  CHECK(value.high.uncertainty == Approx(0.05 * mm));  // 4 kN over 100 kN/mm is 0.04 mm.
  CHECK(departure(travel, judged(bad_reading(Cause::loop_low, newtons, {})), p, jack).high.cause == Cause::loop_low);
  CHECK(departure(travel, load, plan({}), jack).high.cause == Cause::no_reference);
}
