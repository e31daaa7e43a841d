// Equality is within: a tolerance of 0.5 mm allows exactly 0.5 mm, whatever the zero happened to be.
#include "config/units.hpp"

#include <catch2/catch.hpp>
#include <cstdint>
#include <cstdio>
#include <limits>
#include <random>
#include <string>

#include "config/unit_text.hpp"

using namespace standfast;

namespace {

constexpr Dimension length{Base::length}, force{Base::force}, pressure{Base::pressure};

Amount read(const std::string& text, Dimension dimension) {
  const auto amount = parse_amount(text, dimension);
  INFO(text);
  REQUIRE(amount);
  return *amount;
}

// `12345` thousandths of mm is "12.345 mm".
Amount thousandths(int count, const char* unit, Dimension dimension) {
  char text[48];
  std::snprintf(text, sizeof text, "%d.%03d %s", count / 1000, count % 1000, unit);
  return read(text, dimension);
}

Amount minus(Amount a, Amount b) { return {a.dimension, a.si - b.si}; }
Amount negative(Amount a) { return {a.dimension, -a.si}; }

// Reads `baseline + step` and `baseline` as an instrument would give them and compares the movement with the limit.
bool beyond_from(int baseline, int step, Amount limit, const char* unit) {
  const Amount now = thousandths(baseline + step, unit, limit.dimension);
  return exceeds(minus(now, thousandths(baseline, unit, limit.dimension)), limit);
}
bool below_from(int baseline, int step, Amount limit, const char* unit) {
  const Amount now = thousandths(baseline, unit, limit.dimension);
  return exceeds(negative(limit), minus(now, thousandths(baseline + step, unit, limit.dimension)));
}

}  // namespace

TEST_CASE("from every baseline, 0.5 mm is within 0.5 mm and 0.501 mm is not") {
  const Amount limit = read("0.5 mm", length);
  for (int baseline = 0; baseline <= 50'000; ++baseline) {
    if (beyond_from(baseline, 500, limit, "mm") || below_from(baseline, 500, limit, "mm")) FAIL(baseline);
    if (!beyond_from(baseline, 501, limit, "mm") || !below_from(baseline, 501, limit, "mm")) FAIL(baseline);
  }
}

TEST_CASE(
    "from every baseline in thousandths of an inch, 0.02 in is within 0.02 in and a thousandth of a thou more is not") {
  const Amount limit = read("0.02 in", length);
  for (int thou = 0; thou <= 2'000; ++thou) {
    const int baseline = thou * 1000;
    if (beyond_from(baseline, 20'000, limit, "thou") || below_from(baseline, 20'000, limit, "thou")) FAIL(thou);
    if (!beyond_from(baseline, 20'001, limit, "thou") || !below_from(baseline, 20'001, limit, "thou")) FAIL(thou);
  }
}

TEST_CASE("a load from pressure times area meets its limit exactly or exceeds it") {
  // 100 cm2: 1 bar is 1 kN. 2 in2: 1 psi is 2 lbf.
  const Area metric = Area::from_si(read("100 cm2", {Base::area}).si),
             inches = Area::from_si(read("2 in2", {Base::area}).si);
  const auto load = [](Amount p, Area a) { return amount(Pressure::from_si(p.si) * a); };
  for (int thousandth = 0; thousandth <= 700'000; thousandth += 7) {
    const Amount p = thousandths(thousandth, "bar", pressure), more = thousandths(thousandth + 1, "bar", pressure);
    const Amount limit = thousandths(thousandth, "kN", force);
    if (exceeds(load(p, metric), limit) || exceeds(limit, load(p, metric)) || !exceeds(load(more, metric), limit))
      FAIL(thousandth);
  }
  for (int psi = 0; psi <= 10'000; ++psi) {
    const Amount p = thousandths(psi * 1000, "psi", pressure), more = thousandths(psi * 1000 + 1, "psi", pressure);
    const Amount limit = thousandths(psi * 2, "kip", force);
    if (exceeds(load(p, inches), limit) || exceeds(limit, load(p, inches)) || !exceeds(load(more, inches), limit))
      FAIL(psi);
  }
}

TEST_CASE("a load lost since a mark is exact from every mark") {
  const Area area = Area::from_si(read("71.26 cm2", {Base::area}).si);
  const Amount lost = amount(Pressure::from_si(read("4.6 bar", pressure).si) * area);
  for (int hundredth = 1'000; hundredth <= 70'000; ++hundredth) {
    const auto at = [&](int count) {
      return amount(Pressure::from_si(thousandths(count * 10, "bar", pressure).si) * area);
    };
    if (exceeds(minus(at(hundredth), at(hundredth - 460)), lost)) FAIL(hundredth);
    if (!exceeds(minus(at(hundredth), at(hundredth - 461)), lost)) FAIL(hundredth);
  }
}

TEST_CASE("of two amounts at most one exceeds the other, and the order of three holds together") {
  std::mt19937_64 random{12};
  const auto any = [&] { return Amount{length, (static_cast<double>(random() % 21) - 10) * 0.3e-9}; };
  for (int i = 0; i < 100'000; ++i) {
    const Amount a = any(), b = any(), c = any();
    REQUIRE_FALSE((exceeds(a, b) && exceeds(b, a)));
    REQUIRE_FALSE((!exceeds(a, b) && !exceeds(b, c) && exceeds(a, c)));
  }
}

TEST_CASE("the grid saturates where it ends instead of overflowing") {
  CHECK(on_grid({length, std::numeric_limits<double>::max()}) == std::numeric_limits<std::int64_t>::max());
  CHECK(on_grid({length, -std::numeric_limits<double>::max()}) == -std::numeric_limits<std::int64_t>::max());
  CHECK(exceeds({length, 1e300}, read("9000000000 m", length)));
  CHECK(on_grid({length, -0.0}) == 0);
}

TEST_CASE("the steps of the grid are those of the equality table") {
  CHECK(grid_step(force) == 1e-3);
  CHECK(grid_step(pressure) == 1.0);
  CHECK(grid_step(length) == 1e-9);
  CHECK(grid_step({Base::temperature}) == 1e-6);
  CHECK(grid_step({Base::ratio}) == 1e-9);
  CHECK(grid_step({Base::angle}) == 1e-9);
  CHECK(grid_step({Base::moment}) == 1e-6);
  CHECK(grid_step({Base::stiffness}) == 1.0);
  CHECK(grid_step({Base::length, Per::second}) == Approx(1e-12).epsilon(1e-15));
  CHECK(grid_step({Base::force, Per::decade}) == Approx(1e-6).epsilon(1e-15));
}
