#include "config/decimal.hpp"

#include <catch2/catch.hpp>
#include <cstdlib>
#include <limits>
#include <random>
#include <string>

using namespace standfast;

namespace {
Decimal decimal(long long whole, int exponent) {
  return decimal_of_digits(whole < 0, std::to_string(whole < 0 ? -whole : whole), exponent);
}
}  // namespace

TEST_CASE("a double becomes its shortest decimal digits and comes back") {
  CHECK(decimal_of(0.5).digits == "5");
  CHECK(decimal_of(0.5).exponent == -1);
  CHECK(decimal_of(-1250000).digits == "125");
  CHECK(decimal_of(-1250000).negative);
  CHECK(decimal_of(-0.0).digits == "0");
  std::mt19937_64 random{3};
  for (int i = 0; i < 10000; ++i) {
    const double value = static_cast<double>(static_cast<std::int64_t>(random())) / 1048576.0;
    if (nearest_double(decimal_of(value)) != value) FAIL(value);
  }
}

TEST_CASE("sums, products and quotients of decimals are those of whole numbers") {
  std::mt19937_64 random{4};
  for (int i = 0; i < 10000; ++i) {
    const auto a = static_cast<long long>(random() % 2000000000) - 1000000000;
    const auto b = static_cast<long long>(random() % 2000000) - 1000000;
    const auto factor = random() % 1000000000 + 1;
    const auto whole = static_cast<long long>(factor);
    REQUIRE(whole_number(sum(decimal(a, 0), decimal(b, 3))) == a + b * 1000);
    REQUIRE(whole_number(multiplied(decimal(a, 0), factor)) == a * whole);
    REQUIRE(whole_number(divided(multiplied(decimal(a, -2), factor), factor)) == whole_number(decimal(a, -2)));
  }
}

TEST_CASE("a quotient without an end is cut where no rounding can notice") {
  CHECK(nearest_double(divided(decimal(1, 0), 3)) == 1.0 / 3.0);
  CHECK(nearest_double(divided(decimal(2, 0), 3)) == 2.0 / 3.0);
  CHECK(fixed_text(divided(decimal(1, 0), 8), 2) == "0.13");
  CHECK(fixed_text(divided(decimal(1, 0), 3), 4) == "0.3333");
  CHECK(divided(decimal(1, 0), 3).digits.size() == 61);
}

TEST_CASE("a fixed text rounds half away from zero and carries") {
  CHECK(fixed_text(decimal(995, -1), 0) == "100");
  CHECK(fixed_text(decimal(-995, -1), 0) == "-100");
  CHECK(fixed_text(decimal(5, -1), 0) == "1");
  CHECK(fixed_text(decimal(49, -2), 0) == "0");
  CHECK(fixed_text(decimal(-4, -1), 0) == "0");
  CHECK(fixed_text(decimal(4, -9), 2) == "0.00");
  CHECK(fixed_text(decimal(7, 3), 1) == "7000.0");
}

TEST_CASE("a number is whole only if nothing stands behind the point") {
  CHECK(whole_number(decimal(1500, -2)) == 15);
  CHECK_FALSE(whole_number(decimal(15, -1)).has_value());
  CHECK_FALSE(whole_number(decimal(1, 19)).has_value());
  CHECK_FALSE(whole_number(decimal(93, 17)).has_value());
  CHECK(whole_number(decimal(-92, 17)) == -9200000000000000000);
}

TEST_CASE("beyond the range of a double the nearest one stands") {
  CHECK(nearest_double(decimal(1, 400)) == std::numeric_limits<double>::max());
  CHECK(nearest_double(decimal(-1, 400)) == -std::numeric_limits<double>::max());
  CHECK(nearest_double(decimal(1, -400)) == 0.0);
  CHECK(nearest_double(decimal(5, -324)) == std::numeric_limits<double>::denorm_min());
}
