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
