// Beams, bars and stiff pieces: published worked answers, each recomputed by us apart from this code.
#include <catch2/catch.hpp>
#include <string>

#include "config/beam.hpp"
#include "config/unit_text.hpp"
#include "tests/support/amounts.hpp"

using namespace standfast;
using namespace standfast::test;

namespace {

double in(Length length, const char* unit) { return in_unit(amount(length), unit).value(); }

Approx within(double value, double relative) { return Approx(value).epsilon(relative).margin(0); }

// W14x48 of the benchmark: I 484 in4, E 29 000 ksi, G 11 200 ksi, shear area 13.8 in x 0.340 in.
BeamSection w14x48() {
  return {pressure("29000 ksi"), pressure("11200 ksi"), SecondMoment{484 * 0.0254 * 0.0254 * 0.0254 * 0.0254},
          area("4.692 in2")};
}

// Of a chain of bars, the stretch of one.
Length stretch(const std::string& load, const std::string& of, const std::string& section, const std::string& e) {
  return shortening(force(load), {length(of), area(section), pressure(e)});
}

}  // namespace

TEST_CASE("an evenly loaded beam sags as in the benchmark, with and without shear") {
  // AISC 360-16 Commentary, Fig. C-C2.2 (benchmark case 1) without axial load: 0.197 in, with shear 0.202 in; values read
  // in an open-source benchmark script.
  const Force weight = force("5.6 kip");  // 0.200 kip/ft over 28 ft.
  const Length bending = bending_of_own_weight(weight, length("28 ft"), w14x48());
  CHECK(in(bending, "in") == within(0.197, 0.005));
  CHECK(in(bending + shear_of_own_weight(weight, length("28 ft"), w14x48()), "in") == within(0.202, 0.005));
}

TEST_CASE("a built-in beam moves at its tip as in the benchmark, with and without shear") {
  // AISC 360-16 Commentary, Fig. C-C2.3 (case 2) without axial load: 0.901 in, with shear 0.907 in; values read in an
  // open-source benchmark script.
  const Length bending = bending_at_tip(force("1 kip"), length("28 ft"), w14x48());
  CHECK(in(bending, "in") == within(0.901, 0.005));
  CHECK(in(bending + shear_at_tip(force("1 kip"), length("28 ft"), w14x48()), "in") == within(0.907, 0.005));
}

TEST_CASE("a chain of bars stretches by the sum of its parts") {
  // Hibbeler, Mechanics of Materials, example 4.1 (SI version): end A +0.61 mm, B against C +0.104 mm. Internal forces
  // +75, +35, -45 kN.
  const Length ab = stretch("75 kN", "1 m", "600 mm2", "210000 MPa");
  const Length bc = stretch("35 kN", "0.75 m", "1200 mm2", "210000 MPa");
  const Length cd = stretch("-45 kN", "0.5 m", "1200 mm2", "210000 MPa");
  CHECK(in(ab + bc + cd, "mm") == within(0.61, 0.005));
  CHECK(in(bc, "mm") == within(0.104, 0.005));
}

TEST_CASE("the same chain in US units stretches as printed") {
  // Hibbeler, Mechanics of Materials, example 4.1 (US version): +0.0127 in, B against C +0.00217 in.
  const Length ab = stretch("15 kip", "2 ft", "1 in2", "29000 ksi");
  const Length bc = stretch("7 kip", "1.5 ft", "2 in2", "29000 ksi");
  const Length cd = stretch("-9 kip", "1 ft", "2 in2", "29000 ksi");
  CHECK(in(ab + bc + cd, "in") == within(0.0127, 0.005));
  CHECK(in(bc, "in") == within(0.00217, 0.005));
}

TEST_CASE("a rod of the printed least area stretches by just its allowance") {
  // Philpot, Mechanics of Materials, problem 5.1 (solution): 6 m, E 200 GPa, 30 kN; at 180.0 mm2 the stretch is 5 mm and
  // at 166.667 mm2 the stress 180 MPa.
  CHECK(in(stretch("30 kN", "6 m", "180.0 mm2", "200000 MPa"), "mm") == within(5.0, 1e-12));
  CHECK((pressure("180 MPa") * area("166.667 mm2")).si() == within(30e3, 1e-5));
}

TEST_CASE("a stiff bar hinged at one end turns about it") {
  // Philpot, Mechanics of Materials, companion example M5.8: rod at 760 mm stretches 1.564 mm, point at 1640 mm moves
  // 3.38 mm.
  const Length rod = stretch("19.466 kN", "900 mm", "160 mm2", "70000 MPa");
  CHECK(in(rod, "mm") == within(1.564, 0.003));
  CHECK(in(movement_between({Length{}, rod}, Ratio::from_si(1640.0 / 760.0)), "mm") == within(3.38, 0.003));
}

TEST_CASE("a stiff bar on two rods tilts between them") {
  // Philpot, Mechanics of Materials, companion example M5.4: ends 2.40 and 3.60 mm, C at 0.7 of the way 3.24 mm, and a
  // third rod below C stretches 5.14 mm more: 8.38 mm.
  const Length b = stretch("56 kN", "1800 mm", "400 mm2", "70000 MPa");
  CHECK(in(b, "mm") == within(3.60, 1e-12));
  const Length c = movement_between({length("2.40 mm"), b}, Ratio::from_si(0.7));
  CHECK(in(c, "mm") == within(3.24, 1e-12));
  CHECK(in(c + length("5.14 mm"), "mm") == within(8.38, 1e-12));
}
