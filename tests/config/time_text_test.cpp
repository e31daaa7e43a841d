// Examples of RFC 3339 (July 2002), section 5.8; the instants are recomputed with Python's datetime.
#include "config/time_text.hpp"

#include <catch2/catch.hpp>
#include <cstdint>
#include <ctime>
#include <random>
#include <string>

using namespace standfast;

namespace {

constexpr std::int64_t billion = 1'000'000'000;

std::int64_t ns(std::string_view text) {
  const auto time = parse_wall_time(text);
  INFO(text);
  REQUIRE(time);
  return time->ns;
}

std::string reason(std::string_view text) {
  const auto time = parse_wall_time(text);
  INFO(text);
  REQUIRE_FALSE(time);
  return time.error();
}

}  // namespace

TEST_CASE("the examples of RFC 3339 section 5.8 are the instants they mean") {
  CHECK(ns("1985-04-12T23:20:50.52Z") == 482'196'050'520'000'000);
  CHECK(ns("1996-12-19T16:39:57-08:00") == 851'042'397 * billion);
  CHECK(ns("1996-12-20T00:39:57Z") == 851'042'397 * billion);
  CHECK(ns("1937-01-01T12:00:27.87+00:20") == -1'041'337'172'130'000'000);
}

TEST_CASE("a leap second is the second after it, at any offset") {
  CHECK(ns("1990-12-31T23:59:60Z") == 662'688'000 * billion);       // RFC 3339 section 5.8.
  CHECK(ns("1990-12-31T15:59:60-08:00") == 662'688'000 * billion);  // RFC 3339 section 5.8.
  CHECK(ns("2016-12-31T23:59:60Z") == 1'483'228'800 * billion);  // The last so far: from memory of IERS Bulletin C 52.
  CHECK(ns("1972-06-30T23:59:60Z") == ns("1972-07-01T00:00:00Z"));
  CHECK(ns("1990-12-31T23:59:60.25Z") == 662'688'000 * billion + billion / 4);
}

TEST_CASE("a leap second where there can be none is refused") {
  for (const char* text :
       {"2026-03-01T10:01:60Z", "1990-12-31T23:58:60Z", "1990-12-31T23:59:60+01:00", "1990-11-30T23:59:60Z",
        "1990-12-30T23:59:60Z", "1990-06-29T23:59:60Z", "1991-01-01T00:00:60Z", "1971-12-31T23:59:60Z"}) {
    CHECK(reason(text) == "there was no leap second");
  }
}

TEST_CASE("T and Z may be in lower case and an unknown offset counts as UTC") {
  CHECK(ns("1996-12-20t00:39:57z") == 851'042'397 * billion);
  CHECK(ns("1996-12-20T00:39:57-00:00") == 851'042'397 * billion);
  CHECK(ns("1996-12-20T00:39:57+00:00") == 851'042'397 * billion);
  CHECK(ns("1996-12-20T23:59:57+23:59") == ns("1996-12-20T00:00:57Z"));
}

TEST_CASE("a fraction has any length and what is finer than a nanosecond is dropped") {
  CHECK(ns("1970-01-01T00:00:00.1Z") == 100'000'000);
  CHECK(ns("1970-01-01T00:00:00.123456789Z") == 123'456'789);
  CHECK(ns("1970-01-01T00:00:00.1234567899999999999999999999999999Z") == 123'456'789);
  CHECK(ns("1969-12-31T23:59:59.9999999999Z") == -1);
}

TEST_CASE("text that is not a time is refused with its reason") {
  for (const char* text :
       {"", "1996-12-20", "1996-12-20 00:39:57Z", "1996-12-20T00:39:57", "1996-12-20T00:39Z", "1996-12-20T00:39:57.Z",
        "1996-12-20T00:39:57,5Z", "1996-12-20T00:39:57+0800", "1996-12-20T00:39:57+08", "1996-12-20T00:39:57ZZ",
        "96-12-20T00:39:57Z", "+1996-12-20T00:39:57Z", "19961-12-20T00:39:57Z", "1996-12-20T00:39:57Z ",
        " 1996-12-20T00:39:57Z", "1996-1-20T00:39:57Z", "1996-12-20T0a:39:57Z", "-996-12-20T00:39:57Z"}) {
    CHECK(reason(text) == "not a time as in '2026-03-01T07:15:00Z'");
  }
  CHECK(reason("2025-02-29T00:00:00Z") == "no such day");
  CHECK(reason("2026-00-10T00:00:00Z") == "no such day");
  CHECK(reason("2026-13-10T00:00:00Z") == "no such day");
  CHECK(reason("2026-04-31T00:00:00Z") == "no such day");
  CHECK(reason("1900-02-29T00:00:00Z") == "no such day");
  CHECK(ns("2000-02-29T00:00:00Z") == 951'782'400 * billion);
  CHECK(reason("2026-03-01T24:00:00Z") == "no such time of day");
  CHECK(reason("2026-03-01T00:60:00Z") == "no such time of day");
  CHECK(reason("2026-03-01T00:00:61Z") == "no such time of day");
  CHECK(reason("2026-03-01T00:00:00+24:00") == "no such offset from UTC");
  CHECK(reason("2026-03-01T00:00:00+01:60") == "no such offset from UTC");
}

TEST_CASE("years from 0000 to 9999 are understood and refused where nanoseconds do not fit") {
  for (const char* text :
       {"0000-01-01T00:00:00Z", "1677-12-31T23:59:59Z", "2262-01-01T00:00:00Z", "9999-12-31T23:59:59Z"}) {
    CHECK(reason(text) == "year outside 1678 to 2261");
  }
  CHECK(ns("1678-01-01T00:00:00+23:59") < ns("1678-01-01T00:00:00Z"));
  CHECK(ns("2261-12-31T23:59:59.999999999-23:59") > ns("2261-12-31T23:59:59.999999999Z"));
}

TEST_CASE("a time is written to the millisecond, the rest dropped") {
  CHECK(wall_time_text({482'196'050'520'999'999}) == "1985-04-12T23:20:50.520Z");
  CHECK(wall_time_text({-1}) == "1969-12-31T23:59:59.999Z");
  CHECK(wall_time_text({851'042'397 * billion}, UtcOffset{-480}) == "1996-12-19T16:39:57.000-08:00");
  CHECK(wall_time_text({0}, UtcOffset{20}) == "1970-01-01T00:20:00.000+00:20");
  CHECK(wall_time_text({0}, UtcOffset{0}) == "1970-01-01T00:00:00.000+00:00");
  CHECK(wall_time_text({INT64_MAX}, UtcOffset{1439}).starts_with("2262-04-1"));
  CHECK(wall_time_text({INT64_MIN}, UtcOffset{-1439}).starts_with("1677-09-2"));
}

TEST_CASE("a time written is the time read, and its days are those of the C library") {
  std::mt19937_64 random{6};
  for (int i = 0; i < 20000; ++i) {
    const auto ms = static_cast<std::int64_t>(random() % 18'000'000'000'000) - 9'000'000'000'000;
    const WallTime time{ms * 1'000'000};
    const UtcOffset offset{static_cast<int>(random() % 2879) - 1439};
    if (ns(wall_time_text(time)) != time.ns || ns(wall_time_text(time, offset)) != time.ns) FAIL(ms);
    const std::time_t second = ms / 1000 - (ms % 1000 < 0 ? 1 : 0);
    std::tm broken_down{};
    gmtime_r(&second, &broken_down);
    char expected[32];
    std::strftime(expected, sizeof expected, "%Y-%m-%dT%H:%M:%S", &broken_down);
    if (wall_time_text(time).substr(0, 19) != expected) FAIL(expected);
  }
}

TEST_CASE("a date is the start of its day in UTC") {
  CHECK(parse_date("1970-01-02")->ns == 86'400 * billion);
  CHECK(parse_date("2027-03-01")->ns == ns("2027-03-01T00:00:00Z"));
  for (const char* text : {"2027-02-29", "2027-3-1", "01.03.2027", "2027-03-01T", "", "0000-01-01"}) {
    INFO(text);
    CHECK_FALSE(parse_date(text).has_value());
  }
}
