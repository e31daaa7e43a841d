#include "daemon/core/quantity/rate.hpp"

#include <catch2/catch.hpp>

#include "tests/core/small_site.hpp"

using namespace standfast;
using namespace standfast::test;

namespace {

constexpr Dimension metres_per_second{Base::length, Per::second};

Reading at(Duration after, double si, Instant boot = {}) { return good(si, metres, 0, boot + after); }

// `count` readings, one each `every`, rising by `per_second`.
SlopeWindow ramp(int count, Duration every, double per_second, Duration window = seconds(30), Instant boot = {}) {
  SlopeWindow result{window, {}};
  for (int i = 0; i < count; ++i) result.add(at(every * i, per_second * (every * i).seconds(), boot));
  return result;
}

Judged slope_after(const SlopeWindow& window, Duration after) { return window.slope(metres_per_second, Instant{} + after); }

}  // namespace

TEST_CASE("the slope of a ramp is its rate") {
  const Judged value = slope_after(ramp(31, seconds(1), 1e-5), seconds(30));
  CHECK(value.high.quality == Quality::good);
  CHECK(value.high.value.si == Approx(1e-5).epsilon(1e-12));
  CHECK(value.high.uncertainty == Approx(0).margin(1e-12));
  CHECK(value.high.value.dimension == metres_per_second);
}

TEST_CASE("a machine that has run for two years sees the same slope to the last bit") {
  const Instant boot{63'072'000'000'000'000};
  const Judged young = slope_after(ramp(31, seconds(1), 1e-5), seconds(30));
  const Judged old = ramp(31, seconds(1), 1e-5, seconds(30), boot).slope(metres_per_second, boot + seconds(30));
  CHECK(young.high.value.si == old.high.value.si);
  CHECK(young.high.uncertainty == old.high.uncertainty);
}

TEST_CASE("a window is filling until five readings span half of it") {
  CHECK(slope_after(ramp(4, seconds(10), 1e-5), seconds(30)).high.cause == Cause::filling);
  CHECK(slope_after(ramp(15, seconds(1), 1e-5), seconds(14)).high.cause == Cause::filling);
  CHECK(slope_after(ramp(16, seconds(1), 1e-5), seconds(15)).high.quality == Quality::good);
  CHECK(slope_after(SlopeWindow{seconds(30), {}}, seconds(1)).high.cause == Cause::filling);
}

TEST_CASE("a window holds what is not older than itself") {
  const SlopeWindow window = ramp(100, seconds(1), 1e-5);
  CHECK(window.samples.size() == 31);
  CHECK(window.samples.front().at == Instant{} + seconds(69));
}

TEST_CASE("a gap longer than half the window empties it, one of just half does not") {
  SlopeWindow window = ramp(31, seconds(1), 1e-5);
  window.add(at(seconds(45), 45e-5));
  CHECK(window.samples.size() > 1);
  window.add(at(seconds(60) + nanoseconds(1), 60e-5));
  CHECK(window.samples.size() == 1);
}

TEST_CASE("a window that gets nothing is filling again once the gap is longer than half of it") {
  const SlopeWindow window = ramp(31, seconds(1), 1e-5);
  CHECK(slope_after(window, seconds(45)).high.quality == Quality::good);
  REQUIRE(window.empties_at() == Instant{} + seconds(45) + nanoseconds(1));
  CHECK(window.slope(metres_per_second, *window.empties_at()).high.cause == Cause::filling);
}

TEST_CASE("bad readings do not enter a window") {
  SlopeWindow window = ramp(31, seconds(1), 1e-5);
  const auto before = window.samples.size();
  window.add(bad_reading(Cause::loop_low, metres, Instant{} + seconds(31)));
  CHECK(window.samples.size() == before);
}

TEST_CASE("uncertain readings count and make the slope uncertain") {
  SlopeWindow window = ramp(31, seconds(1), 1e-5);
  Reading doubted = at(seconds(31), 31e-5);
  doubted.quality = Quality::uncertain;
  doubted.cause = Cause::outside_range;
  window.add(doubted);
  const Judged value = slope_after(window, seconds(31));
  CHECK(value.high.cause == Cause::outside_range);
  CHECK(value.high.value.si == Approx(1e-5).epsilon(1e-12));
  CHECK(value.high.has_number());
}

TEST_CASE("a reading off the scale in the window puts its slope beyond on both sides") {
  SlopeWindow window = ramp(31, seconds(1), 1e-5);
  Reading saturated = at(seconds(31), 0.11);
  saturated.quality = Quality::uncertain;
  saturated.cause = Cause::saturated_high;
  saturated.saturated = Saturation::high;
  window.add(saturated);
  const Judged value = slope_after(window, seconds(31));
  CHECK(value.high.saturated == Saturation::high);
  CHECK(value.low.saturated == Saturation::low);
}

TEST_CASE("of two readings of one instant the later counts, and an older one not at all") {
  SlopeWindow window = ramp(3, seconds(1), 1e-5);
  window.add(at(seconds(2), 1));
  window.add(at(seconds(1), 2));
  CHECK(window.samples.size() == 3);
  CHECK(window.samples.back().value == 1);
}

TEST_CASE("however fast the polls, a window keeps a bounded number of samples") {
  SlopeWindow window{seconds(10), {}};
  for (int i = 0; i < 5000; ++i) window.add(at(milliseconds(10) * i, 1e-5 * i));
  CHECK(window.samples.size() <= static_cast<std::size_t>(window_samples) + 1);
  CHECK(window.slope(metres_per_second, Instant{} + milliseconds(49990)).high.value.si == Approx(1e-3).epsilon(1e-9));
}

// Computed: x 0..5 s; y 0, 1, 2, 3, 4, 5 mm with the third 0.3 mm too high.
TEST_CASE("the standard error says how well the slope is known") {
  SlopeWindow window{seconds(8), {}};
  for (int i = 0; i < 6; ++i) window.add(at(seconds(i), (i + (i == 2 ? 0.3 : 0.0)) * mm));
  const Judged value = slope_after(window, seconds(5));
  // Slope 1 - 0.5 x 0.3 / 17.5; residual sum 0.09 (1 - 1/6 - 0.25/17.5) over 4 degrees of freedom.
  CHECK(value.high.value.si / mm == Approx(1 - 0.15 / 17.5).epsilon(1e-9));
  CHECK(value.high.uncertainty / mm == Approx(std::sqrt(0.09 * (1 - 1.0 / 6 - 0.25 / 17.5) / 4 / 17.5)).epsilon(1e-9));
}
