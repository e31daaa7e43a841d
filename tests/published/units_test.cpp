// Exact factors between SI and US units.
// Source: NIST SP 811 (2008), Guide for the Use of the International System of Units, appendix B.8 and B.9, which prints
// the rounded factors; behind them the international inch (25.4 mm) and pound (0.453 592 37 kg) of 1959 and the standard
// gravity 9.806 65 m/s2 (3rd CGPM, 1901). The definitions are from memory of these documents; every product and quotient
// of them was recomputed.
#include <catch2/catch.hpp>
#include <string>

#include "config/unit_text.hpp"

using namespace standfast;

namespace {

constexpr Dimension force{Base::force}, pressure{Base::pressure}, length{Base::length}, area{Base::area};

Amount read(const std::string& text, Dimension dimension) {
  const auto amount = parse_amount(text, dimension);
  INFO(text);
  REQUIRE(amount);
  return *amount;
}

// What a published conversion says of one unit: so many of another.
double converted(const std::string& text, Dimension dimension, const char* unit) {
  return in_unit(read(text, dimension), unit).value();
}

Approx within(double value, double relative) { return Approx(value).epsilon(relative).margin(0); }

}  // namespace

TEST_CASE("the inch is 25.4 mm and the square inch 645.16 mm2, exactly") {
  CHECK(converted("1 in", length, "mm") == 25.4);    // NIST SP 811 B.8; international inch, 1959.
  CHECK(converted("1 in2", area, "mm2") == 645.16);  // The same, squared.
  CHECK(read("1 in", length).si == 2.54e-02);        // As printed: 2.54 E-02 m.
  CHECK(read("1 in2", area).si == 6.4516e-04);       // As printed: 6.4516 E-04 m2.
  CHECK(converted("1 ft", length, "in") == 12.0);
  CHECK(converted("1 thou", length, "um") == 25.4);
}

TEST_CASE("the pound-force and all that is counted in it are exact") {
  // 1 lb = 0.453 592 37 kg (from memory) times g_n = 9.806 65 m/s2 (from memory).
  CHECK(read("1 lbf", force).si == 4.4482216152605);
  CHECK(read("1 kip", force).si == 4448.2216152605);
  CHECK(read("1 short tonf", force).si == 8896.443230521);   // 2000 lbf
  CHECK(read("1 long tonf", force).si == 9964.01641818352);  // 2240 lbf
  CHECK(read("1 tonnef", force).si == 9806.65);              // 1000 kgf
  CHECK(converted("1 tonnef", force, "lbf") == within(2204.622621848776, 1e-15));
  CHECK(converted("1 tonnef", force, "short tonf") == within(1.102311310924388, 1e-15));
  CHECK(converted("1 kN", force, "kip") == within(0.224808943099710, 1e-14));
}

TEST_CASE("the pound-force agrees with the rounded factors that NIST SP 811 prints") {
  CHECK(read("1 lbf", force).si == within(4.448222, 1e-6));
  CHECK(read("1 kip", force).si == within(4.448222e+03, 1e-6));
  CHECK(read("1 short tonf", force).si == within(8.896443e+03, 1e-6));
  CHECK(read("1 tonnef", force).si == within(9.80665e+03, 1e-15));
  CHECK(read("1 psi", pressure).si == within(6.894757e+03, 1e-6));
  CHECK(read("1 ksi", pressure).si == within(6.894757e+06, 1e-6));
  CHECK(read("1 kgf/cm2", pressure).si == within(9.80665e+04, 1e-15));
}

TEST_CASE("pressures convert between bar, psi, MPa and kgf/cm2") {
  CHECK(read("1 psi", pressure).si == within(6894.757293168361, 1e-15));
  CHECK(read("1 ksi", pressure).si == within(6.894757293168361e6, 1e-15));
  CHECK(read("1 bar", pressure).si == 100000.0);
  CHECK(converted("1 bar", pressure, "psi") == within(14.5037737730209, 1e-14));
  CHECK(converted("1 MPa", pressure, "psi") == within(145.037737730209, 1e-14));
  CHECK(read("1 kgf/cm2", pressure).si == 98066.5);
  CHECK(converted("1 kgf/cm2", pressure, "bar") == 0.980665);
  CHECK(converted("1 kgf/cm2", pressure, "psi") == within(14.2233433071196, 1e-14));
}

TEST_CASE("the three tons differ by what a wrong one would cost") {
  CHECK(converted("1 tonnef", force, "short tonf") - 1 == within(0.102, 0.01));  // 10.2 %: recomputed from the above.
}

TEST_CASE("a creep limit in inches is not the one in millimetres") {
  CHECK(converted("0.04 in", length, "mm") == within(1.016, 1e-15));  // Recomputed from the inch.
  CHECK(converted("0.08 in", length, "mm") == within(2.032, 1e-15));
  CHECK(exceeds(read("0.04 in", length), read("1 mm", length)));
}
