#include "tools/standfast/exact_json.hpp"

#include <bit>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <random>

namespace json = boost::json;
using standfast::client::exact_json;

namespace {

json::value read(std::string_view text) {
  json::error_code error;
  json::value value = exact_json(text, error);
  INFO(text << ": " << error.message());
  REQUIRE(!error);
  return value;
}

}  // namespace

TEST_CASE("every number the daemon sends is read to its last digit") {
  // Against the C library's strtod, which rounds to the nearest double (ISO/IEC 9899, 7.22.1.3).
  CHECK(read("-2.3033182040358134E-3").as_double() == std::strtod("-2.3033182040358134E-3", nullptr));
  std::mt19937_64 random{7};
  for (int i = 0; i < 100'000; ++i) {
    const double number = std::bit_cast<double>(random());
    if (!std::isfinite(number)) continue;
    REQUIRE(std::bit_cast<std::uint64_t>(read(json::serialize(json::value(number))).as_double()) == std::bit_cast<std::uint64_t>(number));
  }
}

TEST_CASE("what is no fraction is read as Boost.JSON reads it") {
  const auto* const text =
      R"({"a":[1,-2,18446744073709551615,true,false,null,"\u00e9 \n\"",{}],"b":{"c":[],"":"x"},"a long key of one":"0.5"})";
  CHECK(read(text) == json::parse(text));
  CHECK(read(" [0.5, 1e3] \n") == json::parse("[0.5,1e3]"));
}

TEST_CASE("half an answer, or more than one, is no answer") {
  for (const char* text : {"", "{", R"({"a":1)", R"({"a":1}{)", R"({"a":0.})", "nan", "[1,]"}) {
    json::error_code error;
    CHECK(exact_json(text, error).is_null());
    CHECK(error);
  }
}
