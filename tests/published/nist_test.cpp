// Slope and deviation against the certified values of the NIST/ITL Statistical Reference Datasets,
// https://www.itl.nist.gov/div898/strd/ ; the data stand in data/ with their source.
#include <catch2/catch.hpp>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "config/instant.hpp"
#include "daemon/core/statistics.hpp"

using namespace standfast;

namespace {

// The numbers of a file, row by row; comment lines and the line of names left out.
std::vector<std::vector<double>> rows(const std::string& name) {
  std::ifstream file{std::string(TEST_DATA) + "/published/data/" + name};
  REQUIRE(file);
  std::vector<std::vector<double>> result;
  for (std::string line; std::getline(file, line);) {
    if (line.empty() || line[0] == '#' || line[0] == 'y') continue;
    std::istringstream cells{line};
    result.emplace_back();
    for (std::string cell; std::getline(cells, cell, ',');) result.back().push_back(std::stod(cell));
  }
  return result;
}

Spread spread_of(const std::vector<double>& values) {
  Spread spread;
  for (const double value : values) spread.add(value);
  return spread;
}

std::vector<double> first_column(const std::string& name) {
  std::vector<double> values;
  for (const auto& row : rows(name)) values.push_back(row[0]);
  return values;
}

Line norris(double x_shift) {
  const auto data = rows("norris.csv");
  REQUIRE(data.size() == 36);
  return fit_line(data.size(), [&](std::size_t i) { return XY{data[i][1] + x_shift, data[i][0]}; });
}

Approx within(double value, double relative) { return Approx(value).epsilon(relative).margin(0); }

}  // namespace

// NIST StRD, Norris, certified values.
TEST_CASE("the line through the Norris data has the certified slope, intercept and errors") {
  const Line line = norris(0);
  CHECK(line.slope == within(1.00211681802045, 1e-12));
  CHECK(line.intercept == within(-0.262323073774029, 1e-10));
  CHECK(line.slope_error == within(0.429796848199937e-3, 1e-10));
  CHECK(line.deviation == within(0.884796396144373, 1e-12));
}

// Derived from Norris by invariance: a shift of x changes no slope. Textbook sums give 0.99528 here.
TEST_CASE("times as large as seconds since 1970 change no slope") {
  CHECK(norris(1.7e9).slope == within(1.0021168180, 1e-9));
}

TEST_CASE("times in nanoseconds since boot change no slope at all") {
  const auto data = rows("norris.csv");
  const auto slope = [&](Instant boot) {
    const auto at = [&](std::size_t i) {
      return boot + milliseconds(static_cast<std::int64_t>(data[i][1] * 10 + 0.5) * 100);
    };
    return fit_line(data.size(), [&](std::size_t i) { return XY{(at(i) - at(0)).seconds(), data[i][0]}; }).slope;
  };
  CHECK(slope({}) == slope(Instant{} + seconds(1'700'000'000)));
  CHECK(slope({}) == within(1.00211681802045, 1e-12));
}

// NIST StRD, NumAcc1 to NumAcc4, certified values. In binary64 the data of NumAcc3 and NumAcc4 have the deviations
// 0.100000000034925 and 0.100000000558794, hence the tolerance.
TEST_CASE("mean and deviation of the NumAcc data are the certified ones") {
  const Spread one = spread_of(first_column("numacc1.csv"));
  CHECK(one.count == 3);
  CHECK(one.mean == 10000002);
  CHECK(one.deviation() == within(1, 1e-8));

  const Spread two = spread_of(first_column("numacc2.csv"));
  CHECK(two.count == 1001);
  CHECK(two.mean == within(1.2, 1e-14));
  CHECK(two.deviation() == within(0.1, 1e-8));

  const Spread four = spread_of(first_column("numacc4.csv"));
  CHECK(four.count == 1001);
  CHECK(four.mean == within(10000000.2, 1e-14));
  CHECK(four.deviation() == within(0.1, 1e-8));
}

// NIST StRD, NumAcc3: 1000000.2, then 500 times 1000000.1 and 1000000.3 in turn.
TEST_CASE("mean and deviation of NumAcc3, made by its rule, are the certified ones") {
  std::vector<double> values{1000000.2};
  for (int i = 0; i < 500; ++i) {
    values.push_back(1000000.1);
    values.push_back(1000000.3);
  }
  const Spread three = spread_of(values);
  CHECK(three.mean == within(1000000.2, 1e-14));
  CHECK(three.deviation() == within(0.1, 1e-8));
}
