#include "config/unit_text.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <random>
#include <set>
#include <string>
#include <vector>

#include "config/unit_table.hpp"

using namespace standfast;

namespace {

constexpr Dimension force{Base::force}, pressure{Base::pressure}, length{Base::length}, area{Base::area};
constexpr Dimension temperature{Base::temperature}, difference{Base::temperature_difference}, ratio{Base::ratio};
constexpr Dimension length_rate{Base::length, Per::second}, length_decade{Base::length, Per::decade};

double si(std::string_view text, Dimension wanted) {
  const auto amount = parse_amount(text, wanted);
  INFO(text);
  REQUIRE(amount);
  CHECK(amount->dimension == wanted);
  return amount->si;
}

TextError refusal(std::string_view text, Dimension wanted = length) {
  const auto amount = parse_amount(text, wanted);
  INFO(text);
  REQUIRE_FALSE(amount);
  return amount.error();
}

void check_reason(std::string_view text, std::string_view reason) {
  const TextError error = refusal(text);
  INFO(error.message);
  CHECK(error.code == "E-number");
  CHECK_THAT(error.message, Catch::EndsWith("is not a quantity (" + std::string(reason) + ")"));
  CHECK(error.expected == "number, space, unit of length, as in '0.5 mm'");
}

std::vector<Dimension> all_dimensions() {
  std::vector<Dimension> all;
  for (int base = 0; base < base_count; ++base) {
    for (Per per : {Per::none, Per::second, Per::decade}) all.push_back({static_cast<Base>(base), per});
  }
  return all;
}

}  // namespace

TEST_CASE("a quantity is a number, a space and a unit") {
  CHECK(si("460 kN", force) == 460e3);
  CHECK(si("-0.3 mm", length) == -0.0003);
  CHECK(si("0.5 mm/min", length_rate) == 0.5e-3 / 60);
  CHECK(si("0.1 mm/decade", length_decade) == 0.0001);
  CHECK(si("2 %", ratio) == 0.02);
  CHECK(si("71.26 cm2", area) == 0.007126);
  CHECK(si("8000 psi", pressure) == 55158058.34534689);
  CHECK(si("1 mm/m", {Base::angle}) == 0.001);
  CHECK(si("180 deg", {Base::angle}) == 3.14159265358979323846);
  CHECK(si("12 kN m", {Base::moment}) == 12e3);
  CHECK(si("82.6 kN/mm", {Base::stiffness}) == 82.6e6);
  CHECK(si("4 mA", {Base::current}) == 0.004);
}

TEST_CASE("a unit may have a space in its name") {
  CHECK(si("1 short tonf", force) == 8896.443230521);
  CHECK(si("1 long tonf", force) == 9964.01641818352);
  CHECK(si("1 kip ft", {Base::moment}) == 4448.2216152605 * 0.3048);
  CHECK(si("2 kN m/min", {Base::moment, Per::second}) == 2000.0 / 60);
}

TEST_CASE("a temperature has its zero at absolute zero, a difference has none") {
  CHECK(si("12 degC", temperature) == 285.15);
  CHECK(si("12 degC", difference) == 12.0);
  CHECK(si("-40 degF", temperature) == si("-40 degC", temperature));
  CHECK(si("9 degF", difference) == 5.0);
  CHECK(si("3 K/h", {Base::temperature, Per::second}) == si("3 degC/h", {Base::temperature, Per::second}));
  CHECK(si("-273.15 degC", temperature) == 0.0);
  CHECK(refusal("-273.16 degC", temperature).code == "E-number-range");
}

TEST_CASE("minus nothing is nothing") {
  const double value = si("-0.0 mm", length);
  CHECK(value == 0.0);
  CHECK_FALSE(std::signbit(value));
}

TEST_CASE("a decimal unit gives the double nearest to what was written") {
  std::mt19937_64 random{20260301};
  struct Decimal {
    const char* unit;
    Dimension dimension;
    int power;
  };
  const std::vector<Decimal> rows{{"um", length, -6},
                                  {"mm", length, -3},
                                  {"cm", length, -2},
                                  {"kN", force, 3},
                                  {"MN", force, 6},
                                  {"bar", pressure, 5},
                                  {"mm2", area, -6},
                                  {"%", ratio, -2},
                                  {"mA", {Base::current}, -3},
                                  {"mrad", {Base::angle}, -3},
                                  {"ms", {Base::duration}, -3}};
  for (int i = 0; i < 20000; ++i) {
    const Decimal& row = rows[random() % rows.size()];
    const std::string number = std::to_string(random() % 1000000) + "." + std::to_string(random() % 100000000);
    const double expected = std::strtod((number + "e" + std::to_string(row.power)).c_str(), nullptr);
    const auto amount = parse_amount(number + " " + row.unit, row.dimension);
    if (!amount || amount->si != expected) FAIL(number << " " << row.unit);
  }
}

TEST_CASE("every other unit is within a hair of half a unit in the last place") {
  // Checked in the 64-bit mantissa of long double where the machine has one.
  struct Factor {
    const char* unit;
    Dimension dimension;
    long double factor;
  };
  const long double lbf = 0.45359237L * 9.80665L;
  const std::vector<Factor> rows{{"in", length, 0.0254L},
                                 {"thou", length, 0.0000254L},
                                 {"ft", length, 0.3048L},
                                 {"lbf", force, lbf},
                                 {"kip", force, 1000 * lbf},
                                 {"short tonf", force, 2000 * lbf},
                                 {"long tonf", force, 2240 * lbf},
                                 {"tonnef", force, 9806.65L},
                                 {"psi", pressure, lbf / 0.00064516L},
                                 {"ksi", pressure, 1000 * lbf / 0.00064516L},
                                 {"in2", area, 0.00064516L},
                                 {"deg", {Base::angle}, 3.14159265358979323846L / 180},
                                 {"mm/min", length_rate, 0.001L / 60},
                                 {"in/h", length_rate, 0.0254L / 3600},
                                 {"kip/in", {Base::stiffness}, 1000 * lbf / 0.0254L},
                                 {"lbf ft", {Base::moment}, lbf * 0.3048L}};
  std::mt19937_64 random{7};
  for (int i = 0; i < 20000; ++i) {
    const Factor& row = rows[random() % rows.size()];
    const auto thousandths = static_cast<long long>(random() % 1000000000000);
    char text[64];
    std::snprintf(text, sizeof text, "%lld.%03lld %s", thousandths / 1000, thousandths % 1000, row.unit);
    const long double expected = static_cast<long double>(thousandths) / 1000 * row.factor;
    const auto amount = parse_amount(text, row.dimension);
    REQUIRE(amount);
    const double ulp = std::nextafter(amount->si, INFINITY) - amount->si;
    if (std::fabs(static_cast<long double>(amount->si) - expected) > 0.51L * static_cast<long double>(ulp)) FAIL(text);
  }
}

TEST_CASE("every unit goes to text and back to the same amount") {
  std::mt19937_64 random{11};
  for (Dimension dimension : all_dimensions()) {
    for (const std::string& unit : unit_spellings(dimension)) {
      for (int i = 0; i < 50; ++i) {
        const auto thousandths = static_cast<long long>(random() % 100000);
        char number[32];
        std::snprintf(number, sizeof number, "%lld.%03lld", thousandths / 1000, thousandths % 1000);
        const std::string text = std::string(number) + " " + unit;
        const auto amount = parse_amount(text, dimension);
        INFO(text);
        REQUIRE(amount);
        REQUIRE(amount_text(*amount, unit, 3) == text);
        REQUIRE(*in_unit(*amount, unit) == Approx(std::strtod(number, nullptr)).epsilon(1e-15).margin(1e-13));
      }
    }
  }
}

TEST_CASE("no spelling means two things but for the temperatures and their differences") {
  std::set<std::string> seen;
  for (Dimension dimension : all_dimensions()) {
    if (dimension.base == Base::temperature_difference) continue;
    for (const std::string& unit : unit_spellings(dimension)) {
      INFO(unit);
      CHECK(seen.insert(unit).second);
      CHECK(dimension_of_unit(unit).has_value());
    }
  }
}

TEST_CASE("every dimension has a usual unit, which is one of its own, and a name") {
  for (Dimension dimension : all_dimensions()) {
    INFO(dimension_name(dimension));
    CHECK(in_unit({dimension, 1.0}, default_unit(dimension)).has_value());
    CHECK_FALSE(dimension_name(dimension).empty());
  }
  CHECK(default_unit(force) == "kN");
  CHECK(default_unit(length_rate) == "mm/min");
  CHECK(dimension_name(length_rate) == "rate of length");
  CHECK(dimension_name(length_decade) == "length per decade");
}

TEST_CASE("an amount is shown in any unit of its dimension, rounded half away from zero") {
  CHECK(amount_text({force, 460e3}, "kN", 1) == "460.0 kN");
  CHECK(amount_text({length, 0.0005}, "mm", 2) == "0.50 mm");
  CHECK(amount_text({length, 0.0125e-3}, "mm", 3) == "0.013 mm");
  CHECK(amount_text({length, -0.0125e-3}, "mm", 3) == "-0.013 mm");
  CHECK(amount_text({length, -0.0004e-3}, "mm", 3) == "0.000 mm");
  CHECK(amount_text({temperature, 285.15}, "degC", 1) == "12.0 degC");
  CHECK(amount_text({temperature, 233.15}, "degF", 1) == "-40.0 degF");
  CHECK(amount_text({force, 2000.0 * 4.4482216152605}, "short tonf", 3) == "1.000 short tonf");
  CHECK(amount_text({length, 12.6}, "m", 0) == "13 m");
  CHECK(amount_text({length, 0.96e-3}, "mm", 1) == "1.0 mm");
  CHECK_FALSE(in_unit({force, 1.0}, "mm").has_value());
  CHECK_FALSE(in_unit({force, 1.0}, "kn").has_value());
}

TEST_CASE("the smallest and the largest double are shown without harm") {
  CHECK(*in_unit({force, 5e-324}, "MN") == 0.0);
  CHECK(*in_unit({length, 1.7e308}, "um") == std::numeric_limits<double>::max());
  CHECK(amount_text({length, 5e-324}, "mm", 1) == "0.0 mm");
}

TEST_CASE("a number is written in one way only") {
  check_reason("0,5 mm", "decimal comma");
  check_reason("1,000 mm", "decimal comma or thousands separator");
  check_reason("0,500 mm", "decimal comma");
  check_reason("1.000,5 mm", "decimal comma");
  check_reason("1 000 mm", "thousands separator");
  check_reason("1'000 mm", "thousands separator");
  check_reason("1_000 mm", "thousands separator");
  check_reason("1.000.000 mm", "more than one point");
  check_reason("1e3 mm", "exponent");
  check_reason("1.5E-3 mm", "exponent");
  check_reason("0x10 mm", "hexadecimal");
  check_reason("+5 mm", "leading plus");
  check_reason("010 mm", "leading zero");
  check_reason("-00.5 mm", "leading zero");
  check_reason(".5 mm", "no digit before the point");
  check_reason("5. mm", "no digit behind the point");
  check_reason("nan mm", "not a finite number");
  check_reason("-.inf mm", "not a finite number");
  check_reason("Infinity mm", "not a finite number");
  check_reason("\u22120.3 mm", "the minus sign is not '-'");
  check_reason("fast", "no number in front");
  check_reason("--5 mm", "no number in front");
  check_reason("0.5mm", "no space behind the number");
  check_reason("0.5\u00a0mm", "no space behind the number");
  check_reason("0.5  mm", "more than one space");
  check_reason(" 0.5 mm", "space at the end or in front");
  check_reason("0.5 mm ", "space at the end or in front");
  check_reason("0.5\tmm", "control character");
  check_reason(std::string_view("0.5 mm\0", 7), "control character");
  check_reason("", "empty");
  check_reason(std::string(62, '1') + " mm", "longer than 64 bytes");
}

TEST_CASE("the message for a decimal comma is the one that stands in the manual") {
  CHECK(refusal("0,5 mm").message == "'0,5 mm' is not a quantity (decimal comma)");
}

TEST_CASE("a bare number where a unit belongs is an error") {
  const TextError error = refusal("460", force);
  CHECK(error.code == "E-unit-missing");
  CHECK(error.message == "'460' has no unit");
  CHECK(error.expected == "number, space, unit of force, as in '0.5 kN'");
}

TEST_CASE("an unknown unit is named together with the nearest one that fits") {
  CHECK(refusal("460 kn", force).code == "E-unit-unknown");
  CHECK(refusal("460 kn", force).message == "unknown unit 'kn'");
  CHECK(refusal("460 kn", force).nearest == "kN");
  CHECK(refusal("1 short ton", force).nearest == "short tonf");
  CHECK(refusal("5 \u00b5m").nearest == "um");
  CHECK(refusal("5 inch").nearest == "in");
  CHECK(refusal("12 \u00b0C", temperature).nearest == "degC");
  CHECK(refusal("0.5 mm/minute", length_rate).nearest == "mm/min");
  CHECK(refusal("1 furlong").nearest.empty());
}

TEST_CASE("a ton alone is three different loads and gets no guess") {
  const TextError error = refusal("100 ton", force);
  CHECK(error.code == "E-unit-unknown");
  CHECK(error.message == "unknown unit 'ton' (short tonf, long tonf or tonnef?)");
  CHECK(error.nearest.empty());
}

TEST_CASE("a quantity of another dimension is named with both dimensions") {
  const TextError error = refusal("460 kN", pressure);
  CHECK(error.code == "E-unit-dimension");
  CHECK(error.message == "'460 kN' is a force, expected a pressure");
  CHECK(refusal("0.5 mm", length_rate).message == "'0.5 mm' is a length, expected a rate of length");
  CHECK(refusal("0.5 mm/min").message == "'0.5 mm/min' is a rate of length, expected a length");
  CHECK(refusal("1 kN/m", {Base::force, Per::second}).message == "'1 kN/m' is a stiffness, expected a rate of force");
  CHECK(refusal("1 cm2", {Base::angle}).message == "'1 cm2' is an area, expected an angle");
}

TEST_CASE("an amount too large to be compared is refused") {
  CHECK(si("9000000000 MN", force) == 9e15);
  CHECK(refusal("10000000000 MN", force).code == "E-number-range");
  CHECK(refusal("-10000000000 MN", force).code == "E-number-range");
  CHECK(refusal("9300000000 m").message == "'9300000000 m' is too large to be compared");
}

TEST_CASE("a duration is exact in nanoseconds or refused") {
  CHECK(parse_duration("200 ms").value() == milliseconds(200));
  CHECK(parse_duration("10 min").value() == minutes(10));
  CHECK(parse_duration("1 h").value() == hours(1));
  CHECK(parse_duration("2 d").value() == hours(48));
  CHECK(parse_duration("0.1 us").value() == nanoseconds(100));
  CHECK(parse_duration("1.000000001 s").value() == nanoseconds(1'000'000'001));
  CHECK(parse_duration("0.50 s").value() == milliseconds(500));
  CHECK(parse_duration("0 s").value() == Duration{});
  CHECK(parse_duration("0.5 ns").error().message == "'0.5 ns' is not a whole number of nanoseconds");
  CHECK(parse_duration("-5 s").error().message == "'-5 s' is negative");
  CHECK(parse_duration("200000 d").error().message == "'200000 d' is longer than 290 years");
  CHECK(parse_duration("200000 d").error().code == "E-number-range");
  CHECK(parse_duration("5").error().code == "E-unit-missing");
  CHECK(parse_duration("5 sec").error().nearest == "s");
  CHECK(parse_duration("5 m").error().code == "E-unit-dimension");
}

TEST_CASE("a plain number has the same grammar and no unit") {
  CHECK(parse_number("12.5").value() == 12.5);
  CHECK(parse_number("-3").value() == -3.0);
  CHECK(parse_number("010").error().message == "'010' is not a number (leading zero)");
  CHECK(parse_number("5 mm").error().message == "'5 mm' is not a number (no unit belongs here)");
  CHECK(parse_number("1e5").error().code == "E-number");
  CHECK(parse_number("").error().message == "'' is not a number (empty)");
}

TEST_CASE("a stranger's bytes reach the message as one short line of text") {
  CHECK(refusal(std::string_view("\x1b[2J mm", 7)).message == "'\\x1b[2J mm' is not a quantity (control character)");
  CHECK(refusal("\xff mm").message == "'\\xff mm' is not a quantity (no number in front)");
  CHECK(refusal("\xc2\x9b mm").message == "'\\xc2\\x9b mm' is not a quantity (no number in front)");
  CHECK(refusal(std::string(100000, '9')).message.size() < 100);
}
