// Checked against the maths library of the system in long double, and against published tables: Abramowitz and Stegun,
// Handbook of Mathematical Functions (NBS, 1964), table 1.1 (mathematical constants), from memory of the printed digits.
#include "config/exact_math.hpp"

#include <algorithm>
#include <bit>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdint>
#include <limits>
#include <random>
#include <string>
#include <vector>

using namespace standfast;

namespace {

constexpr bool wide_reference = std::numeric_limits<long double>::digits >= 64;

// Error in units of the last place of the result.
double error(double result, long double truth) {
  const auto nearest = static_cast<double>(truth);
  const double size = std::fabs(nearest);
  const double ulp = std::max(std::nextafter(size, INFINITY) - size, std::numeric_limits<double>::denorm_min());
  return static_cast<double>(std::fabs(static_cast<long double>(result) - truth) / static_cast<long double>(ulp));
}

constexpr double allowed = wide_reference ? 0.53 : 1.01;

// Positive doubles of every size, and many about 1 where the logarithm is delicate.
std::vector<double> positive_points() {
  std::vector<double> points{1.0,
                             std::nextafter(1.0, 0.0),
                             std::nextafter(1.0, 2.0),
                             0.5,
                             2.0,
                             10.0,
                             std::sqrt(2.0),
                             std::nextafter(std::sqrt(2.0), 2.0),
                             std::sqrt(0.5)};
  std::mt19937_64 random{20260302};
  while (points.size() < 400000) {
    const double any = std::bit_cast<double>(random() >> 1U);
    if (any > 0 && any - any == 0.0) points.push_back(any);
    points.push_back(1.0 + (static_cast<double>(random() % 2000001) - 1000000) * 1e-6 * 0.999);
    points.push_back(1.0 + (static_cast<double>(random() % 2001) - 1000) * 1e-13);
    points.push_back(static_cast<double>(random() % 1000000 + 1) / 1000);
  }
  return points;
}

}  // namespace

TEST_CASE("the logarithms are right to 0.53 of a unit in the last place") {
  double worst_natural = 0, worst_decimal = 0;
  for (double x : positive_points()) {
    worst_natural = std::max(worst_natural, error(natural_logarithm(x), std::log(static_cast<long double>(x))));
    worst_decimal = std::max(worst_decimal, error(decimal_logarithm(x), std::log10(static_cast<long double>(x))));
  }
  INFO(worst_natural << " " << worst_decimal);
  CHECK(worst_natural <= allowed);
  CHECK(worst_decimal <= allowed);
}

TEST_CASE("the arctangent is right to 0.53 of a unit in the last place") {
  double worst = 0;
  for (double x : positive_points()) {
    worst = std::max(worst, error(arctangent(x), std::atan(static_cast<long double>(x))));
    if (arctangent(-x) != -arctangent(x)) FAIL(x);
  }
  INFO(worst);
  CHECK(worst <= allowed);
}

TEST_CASE("the logarithm of the smallest and the largest double is right") {
  for (double x : {std::numeric_limits<double>::denorm_min(), std::numeric_limits<double>::min(),
                   std::numeric_limits<double>::max()}) {
    CHECK(error(natural_logarithm(x), std::log(static_cast<long double>(x))) <= allowed);
  }
  CHECK(arctangent(std::numeric_limits<double>::max()) == 1.5707963267948966);
  CHECK(arctangent(0.0) == 0.0);
  CHECK(std::signbit(arctangent(-0.0)));
}

TEST_CASE("a decade is exactly one") {
  for (int power = -22; power <= 22; ++power) {
    const double x = std::stod("1e" + std::to_string(power));
    INFO(power);
    if (power >= 0) CHECK(decimal_logarithm(x) == power);
    CHECK(decimal_logarithm(x) == Approx(power).epsilon(1e-15));
  }
}

TEST_CASE("the constants of the printed tables come out") {
  CHECK(natural_logarithm(2) == 0.69314718055994530942);
  CHECK(natural_logarithm(10) == 2.30258509299404568402);
  CHECK(decimal_logarithm(2) == 0.30102999566398119521);
  CHECK(decimal_logarithm(3) == 0.47712125471966243730);
  CHECK(4 * arctangent(1) == 3.14159265358979323846);
  CHECK(natural_logarithm(1) == 0.0);
  CHECK(decimal_logarithm(1) == 0.0);
}

TEST_CASE("neither function ever falls while its argument rises") {
  double x = 0.9;
  for (int i = 0; i < 100000; ++i) {
    const double next = std::nextafter(x, 2.0);
    if (natural_logarithm(next) < natural_logarithm(x) || arctangent(next) < arctangent(x)) FAIL(x);
    x = i % 2 == 0 ? next : x + 2e-6;
  }
}
