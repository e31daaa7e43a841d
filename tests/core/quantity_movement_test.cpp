#include "daemon/core/quantity/movement.hpp"

#include <array>
#include <catch2/catch.hpp>

#include "tests/core/small_site.hpp"

using namespace standfast;
using namespace standfast::test;

namespace {

Judged height(double in_mm) { return judged(good(in_mm * mm, metres)); }
Judged silent(Cause cause = Cause::no_answer) { return judged(bad_reading(cause, metres, {})); }

Judged off_scale(Saturation side) {
  Reading reading = good(0.11, metres);
  reading.quality = Quality::uncertain;
  reading.cause = side == Saturation::high ? Cause::saturated_high : Cause::saturated_low;
  reading.saturated = side;
  return judged(reading);
}

PointMovement point(std::initializer_list<Judged> gauges) {
  Gauges all{metres};
  for (const Judged& gauge : gauges) all.add(gauge);
  return all.movement();
}

const std::optional<MarkValue> mark_at_50{{50 * mm, 0, 10, {}}};

}  // namespace

TEST_CASE("movement is the reading less its mark, up positive") {
  CHECK(equal(change_since(good(50.5 * mm, metres), mark_at_50, metres, false), 0.5 * mm));
  CHECK(equal(change_since(good(50.5 * mm, metres), mark_at_50, metres, true), -0.5 * mm));
}

TEST_CASE("movement without its mark has no value") {
  const Judged value = change_since(good(50 * mm, metres), std::nullopt, metres, false);
  CHECK(value.high.quality == Quality::bad);
  CHECK(value.high.cause == Cause::mark_missing);
}

TEST_CASE("a bad gauge keeps its own cause even where the mark is missing too") {
  CHECK(change_since(bad_reading(Cause::loop_low, metres, {}), std::nullopt, metres, false).high.cause == Cause::loop_low);
}

// JCGM 100:2008, 5.1.2: independent parts add in squares.
TEST_CASE("the uncertainty of a movement holds that of the gauge and that of the mark") {
  const MarkValue mark{50 * mm, 0.03 * mm, 10, {}};
  CHECK(change_since(good(50 * mm, metres, 0.04 * mm), mark, metres, false).high.uncertainty == Approx(0.05 * mm));
}

TEST_CASE("a gauge that counts downwards turns its end of scale over too") {
  Reading high = good(0.11, metres);
  high.quality = Quality::uncertain;
  high.saturated = Saturation::high;
  const Judged value = change_since(high, mark_at_50, metres, true);
  CHECK(value.high.saturated == Saturation::none);
  CHECK(value.low.saturated == Saturation::low);
}

TEST_CASE("a point is compared by its worst gauge in each direction; the mean is only shown") {
  const PointMovement value = point({height(0.4), height(-0.1)});
  CHECK(equal(value.worst.high.value, {metres, 0.4 * mm}));
  CHECK(equal(value.worst.low.value, {metres, -0.1 * mm}));
  CHECK(equal(value.mean.value, {metres, 0.15 * mm}));
}

TEST_CASE("a bad gauge leaves its twin to guard") {
  const PointMovement value = point({silent(), height(0.4)});
  CHECK(equal(value.worst, 0.4 * mm));
  CHECK(value.worst.high.quality == Quality::good);
  CHECK(value.gauges == 2);
  CHECK(value.answering == 1);
}

TEST_CASE("a point is bad when all its gauges are") {
  const PointMovement value = point({silent(Cause::no_answer), silent(Cause::never_read)});
  CHECK(value.worst.high.quality == Quality::bad);
  CHECK(value.worst.high.cause == Cause::never_read);
  CHECK(value.mean.quality == Quality::bad);
}

TEST_CASE("an uncertain gauge makes its point uncertain") {
  Judged doubted = height(0.1);
  doubted.high.quality = doubted.low.quality = Quality::uncertain;
  doubted.high.cause = doubted.low.cause = Cause::frozen;
  CHECK(point({height(0.1), doubted}).worst.high.cause == Cause::frozen);
}

TEST_CASE("one gauge off the scale puts its point beyond every bound on that side") {
  const PointMovement high = point({height(0), off_scale(Saturation::high)});
  CHECK(high.worst.high.saturated == Saturation::high);
  CHECK(high.worst.low.has_number());
  const PointMovement low = point({height(0), off_scale(Saturation::low)});
  CHECK(low.worst.low.saturated == Saturation::low);
  CHECK(low.worst.high.has_number());
}

TEST_CASE("agreement is the largest difference between the gauges of a point") {
  Gauges gauges{metres};
  for (const double in_mm : {0.10, 0.25, 0.18}) gauges.add(height(in_mm));
  CHECK(equal(gauges.agreement(), 0.15 * mm));
  CHECK_FALSE(disagree(gauges.agreement(), Length::from_si(0.15 * mm)));
  CHECK(disagree(gauges.agreement(), Length::from_si(0.149999 * mm)));
}

TEST_CASE("a gauge alone agrees with nobody") {
  Gauges one{metres}, broken{metres};
  one.add(height(1));
  broken.add(height(1));
  broken.add(silent());
  CHECK(one.agreement().high.cause == Cause::no_reference);
  CHECK(broken.agreement().high.cause == Cause::no_answer);
  CHECK_FALSE(disagree(one.agreement(), Length::from_si(0)));
}

TEST_CASE("a difference takes the worst gauges of both points") {
  const Judged a = point({height(1.0), height(0.8)}).worst, b = point({height(0.1), height(-0.1)}).worst;
  const Judged value = difference(a, b, metres);
  CHECK(equal(value.high.value, {metres, 1.1 * mm}));
  CHECK(equal(value.low.value, {metres, 0.7 * mm}));
}

TEST_CASE("a difference with a bad point is bad; with one off the scale it is beyond on both sides") {
  CHECK(difference(height(1), silent(), metres).high.quality == Quality::bad);
  const Judged value = difference(height(0), off_scale(Saturation::high), metres);
  CHECK(value.high.saturated == Saturation::high);
  CHECK(value.low.saturated == Saturation::low);
}

// Computed: corners 0.10, 0.72, 0.25, -0.31 mm in order.
TEST_CASE("warp is what a plane cannot show") {
  const std::array<Judged, 4> corners{height(0.10), height(0.72), height(0.25), height(-0.31)};
  CHECK(equal(warp(corners, metres), -0.06 * mm));
}

TEST_CASE("travel left is the stroke limit less the ram's reading, and nothing is left off the high end") {
  CHECK(equal(travel_left(Length::from_si(0.15), good(0.12, metres)), 0.03));
  Reading beyond = good(0.11, metres);
  beyond.quality = Quality::uncertain;
  beyond.saturated = Saturation::high;
  CHECK(travel_left(Length::from_si(0.15), beyond).low.saturated == Saturation::low);
}
