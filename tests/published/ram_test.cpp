// Pressure times area: worked examples from outside the project.
#include <catch2/catch.hpp>
#include <string>

#include "config/unit_text.hpp"

using namespace standfast;

namespace {

constexpr Dimension force{Base::force}, pressure{Base::pressure}, area{Base::area}, ratio{Base::ratio};
constexpr double pi = 3.14159265358979323846;

Amount read(const std::string& text, Dimension dimension) {
  const auto amount = parse_amount(text, dimension);
  INFO(text);
  REQUIRE(amount);
  return *amount;
}

Amount load_of(const std::string& p, Amount a) {
  return amount(Pressure::from_si(read(p, pressure).si) * Area::from_si(a.si));
}

bool equal(Amount a, Amount b) { return !exceeds(a, b) && !exceeds(b, a); }

Approx within(double value, double relative) { return Approx(value).epsilon(relative).margin(0); }

double in(Amount amount, const char* unit) { return in_unit(amount, unit).value(); }

// Piston area from the bore, pi D^2 / 4.
Amount bore_area(const std::string& bore) {
  const double d = read(bore, {Base::length}).si;
  return {area, pi * d * d / 4};
}

// An accuracy in percent of full scale, from two readings and the span.
Amount of_full_scale(const std::string& reading, const std::string& truth, const std::string& span) {
  return {ratio, (read(reading, pressure).si - read(truth, pressure).si) / read(span, pressure).si};
}

}  // namespace

TEST_CASE("1500 psi on 2 square inches is 3000 pounds") {
  // US DOE Fundamentals Handbook, Mechanical Science, DOE-HDBK-1018/2-93, hydraulics chapter: read in a public reprint
  // with identical wording; the attribution is from memory.
  CHECK(equal(load_of("1500 psi", read("2 in2", area)), read("3000 lbf", force)));
  CHECK(equal(load_of("1500 psi", read("2 in2", area)), read("3 kip", force)));
  CHECK(in(load_of("1500 psi", read("2 in2", area)), "lbf") == within(3000, 1e-15));
}

TEST_CASE("0.3 N/cm2 on 100 cm2 is 30 N") {
  // A public school physics exercise with its solution. 0.3 N/cm2 is 3 kPa.
  CHECK(equal(load_of("3 kPa", read("100 cm2", area)), read("30 N", force)));
}

TEST_CASE("a 500 psi gauge that reads 260 for 250 is 2 % of full scale high") {
  // US Army correspondence course MM0486, pressure gauges, read in a public reprint.
  CHECK(equal(of_full_scale("260 psi", "250 psi", "500 psi"), read("2 %", ratio)));
  CHECK(equal(of_full_scale("240 psi", "250 psi", "500 psi"), read("-2 %", ratio)));
}

TEST_CASE("1 % of a 100 bar gauge is 1 bar anywhere on the dial, and 10 % of a reading of 10 bar") {
  // Practice of ASME B40.100 and EN 837-1 as described on a public page.
  const double error = read("1 %", ratio).si * read("100 bar", pressure).si;
  CHECK(equal({pressure, error}, read("1 bar", pressure)));
  CHECK(equal({ratio, error / read("10 bar", pressure).si}, read("10 %", ratio)));
}

TEST_CASE("a 5 inch bore at 10000 psi gives four different numbers in four units") {
  // Derived from the definitions of the units (NIST SP 811, appendix B); not a published answer.
  const Amount piston = bore_area("5.000 in");
  CHECK(in(piston, "in2") == within(19.634954, 3e-8));
  const Amount load = load_of("10000 psi", piston);
  CHECK(in(load, "lbf") == within(196349.540849, 1e-11));
  CHECK(in(load, "kN") == within(873.406272, 1e-9));
  CHECK(in(load, "short tonf") == within(98.174770, 1e-8));
  CHECK(in(load, "tonnef") == within(89.062653, 1e-8));
}

TEST_CASE("a 5.125 inch bore has 20.628974 square inches") {
  // Derived from pi D^2 / 4; not a published answer.
  CHECK(in(bore_area("5.125 in"), "in2") == within(20.628974, 1e-7));
}
