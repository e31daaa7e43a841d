#include "daemon/core/quantity/plane.hpp"

#include <catch2/catch.hpp>

#include "tests/core/small_site.hpp"

using namespace standfast;
using namespace standfast::test;

namespace {

constexpr Dimension slope{Base::angle, Per::none};

PlanePoint at(double x, double y, double in_mm) { return {{x, y}, judged(good(in_mm * mm, metres))}; }
PlanePoint twins(double x, double y, double high_mm, double low_mm) {
  return {{x, y}, {good(high_mm * mm, metres), good(low_mm * mm, metres)}};
}
double tilt_mm_per_m(const std::vector<PlanePoint>& points) { return tilt(points, slope).high.value.si / mm; }

}  // namespace

// Computed: through (0,0) 0, (3,0) 0.6, (0,4) -0.4 mm: a 0.2, b -0.1 mm/m, tilt 0.2236 mm/m.
TEST_CASE("the plane through three points is exact") {
  const std::vector<PlanePoint> points{at(0, 0, 0), at(3, 0, 0.6), at(0, 4, -0.4)};
  const auto plane = fit_plane(points);
  REQUIRE(plane);
  CHECK(plane->a / mm == Approx(0.2).epsilon(1e-12));
  CHECK(plane->b / mm == Approx(-0.1).epsilon(1e-12));
  CHECK(plane->c / mm == Approx(0).margin(1e-12));
  CHECK(tilt_mm_per_m(points) == Approx(0.223607).epsilon(1e-5));
}

// Computed: c 0.115, a 0.1967, b -0.1100 mm/m, tilt 0.2253 mm/m, residuals +-0.015 mm.
TEST_CASE("the plane through four points has the least squares") {
  const std::vector<PlanePoint> points{at(0, 0, 0.10), at(3, 0, 0.72), at(3, 4, 0.25), at(0, 4, -0.31)};
  const auto plane = fit_plane(points);
  REQUIRE(plane);
  CHECK(plane->c / mm == Approx(0.115).epsilon(1e-9));
  CHECK(plane->a / mm == Approx(0.196667).epsilon(1e-5));
  CHECK(plane->b / mm == Approx(-0.11).epsilon(1e-9));
  CHECK(tilt_mm_per_m(points) == Approx(0.22534).epsilon(1e-4));
  for (const PlanePoint& p : points) {
    const double residual = p.height.high.value.si - (plane->c + plane->a * p.at.x + plane->b * p.at.y);
    CHECK(std::abs(residual) / mm == Approx(0.015).epsilon(1e-9));
  }
}

TEST_CASE("a plane far from the origin is the same plane") {
  const std::vector<PlanePoint> points{at(10000, 5000, 0), at(10003, 5000, 0.6), at(10000, 5004, -0.4)};
  CHECK(tilt_mm_per_m(points) == Approx(0.223607).epsilon(1e-5));
}

TEST_CASE("points on one line have no plane, nor have two points") {
  CHECK_FALSE(fit_plane(std::vector<PlanePoint>{at(0, 0, 0), at(1, 1, 1), at(2, 2, 2)}));
  CHECK_FALSE(fit_plane(std::vector<PlanePoint>{at(0, 0, 0), at(10, 0, 1), at(20, 0.002, 2)}));
  CHECK_FALSE(fit_plane(std::vector<PlanePoint>{at(0, 0, 0), at(1, 1, 1)}));
  CHECK_FALSE(fit_plane(std::vector<PlanePoint>{at(1, 1, 0), at(1, 1, 1), at(1, 1, 2)}));
  CHECK(tilt(std::vector<PlanePoint>{at(0, 0, 0), at(1, 1, 1), at(2, 2, 2)}, slope).high.cause == Cause::no_reference);
}

TEST_CASE("a bad point makes the tilt bad, even where the others would do") {
  std::vector<PlanePoint> points{at(0, 0, 0.1), at(3, 0, 0.7), at(3, 4, 0.2), at(0, 4, -0.3)};
  points[2].height = judged(bad_reading(Cause::no_answer, metres, {}));
  CHECK(tilt(points, slope).high.cause == Cause::no_answer);
}

TEST_CASE("the tilt is the steepest that any choice of the points' gauges gives") {
  const std::vector<PlanePoint> points{twins(0, 0, 0.10, 0.02), twins(3, 0, 0.75, 0.70), twins(3, 4, 0.25, 0.15),
                                       twins(0, 4, -0.30, -0.33)};
  double steepest = 0;
  for (unsigned choice = 0; choice < 16; ++choice) {
    std::vector<PlanePoint> chosen = points;
    for (std::size_t i = 0; i < 4; ++i) {
      const Reading one = (choice >> i & 1) ? points[i].height.high : points[i].height.low;
      chosen[i].height = judged(one);
    }
    steepest = std::max(steepest, tilt_mm_per_m(chosen));
  }
  CHECK(tilt_mm_per_m(points) == Approx(steepest).epsilon(1e-12));
}

// Computed: a = (z2 - z1) / 3 m, b = (z3 - z1) / 3 m: 0.05 mm x sqrt(2 + 2) / 3 m.
TEST_CASE("the uncertainty of a tilt shrinks with the distance between the points") {
  std::vector<PlanePoint> points{at(0, 0, 0), at(3, 0, 0), at(0, 3, 0)};
  for (PlanePoint& p : points) p.height = judged(good(0, metres, 0.05 * mm));
  const double near = tilt(points, slope).high.uncertainty;
  CHECK(near / mm == Approx(0.05 * std::sqrt(4.0) / 3).epsilon(1e-9));
  for (PlanePoint& p : points) p.at = {p.at.x * 10, p.at.y * 10};
  CHECK(tilt(points, slope).high.uncertainty == Approx(near / 10).epsilon(1e-9));
}

// By hand: through (0,0) 0.10, (3,0) 0.72, (0,4) -0.31 mm the plane has 0.10 + 0.62 - 0.41 = 0.31 mm at (3,4); it reads 0.25.
// Of the corners of a rectangle each lies as far from the plane through the other three.
TEST_CASE("how far a gauge lies from the plane through the others") {
  const auto off = off_plane_of_others(std::vector<PlanePoint>{at(0, 0, 0.10), at(3, 0, 0.72), at(3, 4, 0.25), at(0, 4, -0.31)});
  REQUIRE(off);
  CHECK(off->most / mm == Approx(0.06).epsilon(1e-9));
}

TEST_CASE("a tilt takes nothing off what one gauge lies apart, wherever the gauges sit") {
  const std::vector<Position> places{{0, 0}, {0.4, 0.05}, {0.35, 0.5}, {-0.1, 0.45}, {0.2, 0.9}};
  for (std::size_t wrong = 0; wrong < places.size(); ++wrong) {
    std::vector<PlanePoint> points;
    for (const Position& p : places) points.push_back(at(p.x, p.y, 0.7 + 1.5 * p.x - 0.8 * p.y));
    const auto tilted = off_plane_of_others(points);
    REQUIRE(tilted);
    CHECK(tilted->most / mm == Approx(0).margin(1e-9));
    points[wrong].height.high.value.si += 0.2 * mm;
    points[wrong].height.low.value.si += 0.2 * mm;
    const auto off = off_plane_of_others(points);
    REQUIRE(off);
    double most = 0;  // Each left out in turn, and the plane fitted through the others.
    for (std::size_t i = 0; i < points.size(); ++i) {
      std::vector<PlanePoint> others = points;
      others.erase(others.begin() + static_cast<std::ptrdiff_t>(i));
      const auto plane = fit_plane(others);
      REQUIRE(plane);
      const PlanePoint& p = points[i];
      most = std::max(most, std::abs(p.height.high.value.si - (plane->c + plane->a * p.at.x + plane->b * p.at.y)));
    }
    CHECK(off->most == Approx(most).epsilon(1e-9));
    CHECK(off->most >= 0.2 * mm * (1 - 1e-9));
  }
}

// Of the corners of a square three quarters of each height go into the plane: u / sqrt(1 / 4).
TEST_CASE("what lies off the plane of the others is as uncertain as the reading and that plane") {
  std::vector<PlanePoint> points{at(0, 0, 0), at(1, 0, 0), at(1, 1, 0), at(0, 1, 0)};
  for (PlanePoint& p : points) p.height = judged(good(0, metres, 0.05 * mm));
  const auto off = off_plane_of_others(points);
  REQUIRE(off);
  CHECK(off->uncertainty / mm == Approx(0.1).epsilon(1e-9));
}

TEST_CASE("of three gauges, and of four that have no plane without one of them, none lies off") {
  CHECK_FALSE(off_plane_of_others(std::vector<PlanePoint>{at(0, 0, 0), at(3, 0, 0.6), at(0, 4, -0.4)}));
  CHECK_FALSE(off_plane_of_others(std::vector<PlanePoint>{at(0, 0, 0), at(1, 0, 1), at(2, 0, 2), at(1, 1, 5)}));
  CHECK_FALSE(off_plane_of_others(std::vector<PlanePoint>{}));
}
