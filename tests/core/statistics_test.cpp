#include "daemon/core/statistics.hpp"

#include <catch2/catch.hpp>

using namespace standfast;

namespace {

Spread spread_of(std::initializer_list<double> values) {
  Spread spread;
  for (const double value : values) spread.add(value);
  return spread;
}

}  // namespace

TEST_CASE("one number has a mean and no deviation") {
  CHECK(spread_of({}).deviation() == 0);
  CHECK(spread_of({3}).mean == 3);
  CHECK(spread_of({3}).deviation() == 0);
  CHECK(spread_of({3}).standard_error() == 0);
}

TEST_CASE("numbers that are all the same have exactly no deviation") {
  CHECK(spread_of({0.1, 0.1, 0.1, 0.1, 0.1}).deviation() == 0);
}

TEST_CASE("the standard error of a mean is the deviation over the root of the count") {
  const Spread spread = spread_of({1, 2, 3, 4});
  CHECK(spread.mean == 2.5);
  CHECK(spread.deviation() == Approx(1.2909944487).epsilon(1e-9));
  CHECK(spread.standard_error() == Approx(spread.deviation() / 2));
}

TEST_CASE("a straight line is found exactly, with no error") {
  const Line line = fit_line(5, [](std::size_t i) { return XY{static_cast<double>(i), 3 + 0.5 * static_cast<double>(i)}; });
  CHECK(line.slope == 0.5);
  CHECK(line.intercept == 3);
  CHECK(line.slope_error == 0);
  CHECK(line.deviation == 0);
}
