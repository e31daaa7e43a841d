#include "config/number_text.hpp"

#include <bit>
#include <catch2/catch.hpp>
#include <cstdint>
#include <limits>
#include <random>
#include <string>
#include <vector>

using namespace standfast;

namespace {
std::uint64_t bits(double value) { return std::bit_cast<std::uint64_t>(value); }
}  // namespace

TEST_CASE("any finite double survives its text bit for bit") {
  std::vector<double> values{0.0, -0.0, 0.1, -1.0 / 3.0, 460e3, 1e22, 1e23, 9007199254740993.0};
  values.push_back(std::numeric_limits<double>::denorm_min());
  values.push_back(-std::numeric_limits<double>::min() / 3);
  values.push_back(std::numeric_limits<double>::max());
  std::mt19937_64 random{5};
  while (values.size() < 200000) {
    const double value = std::bit_cast<double>(random());
    if (value - value == 0.0) values.push_back(value);
  }
  for (double value : values) {
    const auto back = number_from_text(number_text(value));
    if (!back || bits(*back) != bits(value)) FAIL(number_text(value));
  }
}

TEST_CASE("the text is the shortest one") {
  CHECK(number_text(0.1) == "0.1");
  CHECK(number_text(-0.0) == "-0");
  CHECK(number_text(0.0005) == "5e-04");
  CHECK(number_text(460000) == "460000");
  CHECK(number_text(5e-324) == "5e-324");
}

TEST_CASE("text that is not wholly a finite number gives none") {
  for (const char* text : {"", " 1", "1 ", "1,5", "+1", "inf", "-inf", "nan", "NAN", "0x1p3", "1e400", "-1e400",
                           "1e-400", "one", "1.5mm", "--1", "1e", "."}) {
    INFO(text);
    CHECK_FALSE(number_from_text(text).has_value());
  }
  CHECK_FALSE(number_from_text(std::string_view("1\0", 2)).has_value());
}
