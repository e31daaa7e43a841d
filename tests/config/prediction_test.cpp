// Our own worked example, recomputed apart from this code and rounded as written; it is not a published answer (none was
// found for a needle-beam transfer). The published checks of the same formulas stand in tests/published/beam_test.cpp.
//
// Column 1860 kN on two needles, 930 kN each; 1.35 m to tower A, 1.65 m to tower B; E 210 GPa, G 81 GPa, I 9.0e8 mm4, web
// 9000 mm2; tower 3.2 m of 16 000 mm2; base 250 kN/mm.
#include "config/prediction.hpp"

#include <catch2/catch.hpp>
#include <random>
#include <string>

#include "config/unit_text.hpp"
#include "tests/support/amounts.hpp"

using namespace standfast;
using namespace standfast::test;

namespace {

Needle needle() {
  return {{length("3.0 m"), length("1.35 m")},
          {pressure("210000 MPa"), pressure("81000 MPa"), SecondMoment{9.0e-4}, area("9000 mm2")}};
}
Leg leg() { return {{length("3.2 m"), area("16000 mm2"), pressure("210000 MPa")}, stiffness("250 kN/mm")}; }

std::string mm(Length length, int decimals) { return amount_text(amount(length), "mm", decimals); }
std::string kN(Force force, int decimals) { return amount_text(amount(force), "kN", decimals); }
std::string percent(Ratio ratio) { return amount_text(amount(ratio), "%", 1); }

}  // namespace

TEST_CASE("the nearer tower takes more of the column") {
  const Reactions at = reactions(force("930 kN"), needle().span);
  CHECK(kN(at.at_a, 1) == "511.5 kN");
  CHECK(kN(at.at_b, 1) == "418.5 kN");
}

TEST_CASE("a ram travels bending, shear, tower and base before the column gives way") {
  const TravelParts parts = travel_parts(force("930 kN"), needle(), End::a, leg());
  CHECK(kN(parts.reaction, 1) == "511.5 kN");
  CHECK(mm(parts.bending, 3) == "2.713 mm");
  CHECK(mm(parts.shear, 3) == "0.947 mm");
  CHECK(mm(parts.tower, 3) == "0.487 mm");
  CHECK(mm(parts.base, 3) == "2.046 mm");
  CHECK(mm(parts.elastic(), 2) == "6.19 mm");
  CHECK(amount_text(amount(parts.stiffness()), "kN/mm", 1) == "82.6 kN/mm");
  CHECK(mm(ram_travel(parts, {length("0.8 mm"), Length{}}), 2) == "6.99 mm");
  CHECK(mm(ram_travel(parts, {length("0.8 mm"), length("0.868 mm")}), 2) == "7.86 mm");
}

TEST_CASE("the other end of the needle bends as much and settles less") {
  const TravelParts a = travel_parts(force("930 kN"), needle(), End::a, leg());
  const TravelParts b = travel_parts(force("930 kN"), needle(), End::b, leg());
  CHECK(kN(b.reaction, 1) == "418.5 kN");
  CHECK(b.bending == a.bending);
  CHECK(mm(b.base, 3) == "1.674 mm");
}

TEST_CASE("planned shares follow from spans and from where the load stands between the needles") {
  const PlannedShares central = planned_shares({length("1.35 m"), length("1.65 m"), length("0.8 m"), Length{}});
  CHECK(percent(central.needle_1_at_a) == "27.5 %");
  CHECK(percent(central.needle_1_at_b) == "22.5 %");
  CHECK(percent(central.needle_2_at_a) == "27.5 %");
  CHECK(percent(central.needle_2_at_b) == "22.5 %");
  const PlannedShares off = planned_shares({length("1.5 m"), length("1.5 m"), length("0.8 m"), length("80 mm")});
  CHECK(percent(off.needle_1_at_a) == "20.0 %");
  CHECK(percent(off.needle_2_at_b) == "30.0 %");
}

TEST_CASE("planned shares make up the whole column, and its load stands where they have their centre") {
  std::mt19937_64 random{21};
  const auto metres = [&](double least, double most) {
    return Length::from_si(least + (most - least) * static_cast<double>(random() % 1001) / 1000);
  };
  for (int i = 0; i < 1000; ++i) {
    const TwoNeedles n{metres(0.3, 4), metres(0.3, 4), metres(0.4, 2), metres(-0.2, 0.2)};
    const PlannedShares s = planned_shares(n);
    const double at_a = s.needle_1_at_a.si() + s.needle_2_at_a.si(), at_b = s.needle_1_at_b.si() + s.needle_2_at_b.si();
    const double on_2 = s.needle_2_at_a.si() + s.needle_2_at_b.si(), on_1 = s.needle_1_at_a.si() + s.needle_1_at_b.si();
    REQUIRE(at_a + at_b == Approx(1).epsilon(1e-14));
    REQUIRE(at_b * n.to_b.si() - at_a * n.to_a.si() == Approx(0).margin(1e-14));
    REQUIRE((on_2 - on_1) * n.spacing.si() / 2 == Approx(n.off_middle.si()).margin(1e-14));
  }
}

TEST_CASE("a column head must rise by its elastic recovery before the column is free") {
  const Bar column{length("3.5 m"), Area::from_si(0.5 * 0.5), pressure("30000 MPa")};
  CHECK(mm(elastic_recovery(force("1860 kN"), column), 3) == "0.868 mm");
  CHECK(kN(left_for_the_cut(force("1860 kN"), column, length("0.434 mm")), 0) == "930 kN");
  CHECK(kN(left_for_the_cut(force("1860 kN"), column, Length{}), 0) == "1860 kN");
  CHECK(kN(left_for_the_cut(force("1860 kN"), column, length("1.2 mm")), 0) == "0 kN");
}

TEST_CASE("a needle over one support is held down at its far end") {
  const Overhang arm{length("2 m"), length("0.5 m")};
  CHECK(kN(reactions(force("100 kN"), arm).near, 1) == "125.0 kN");
  CHECK(kN(reactions(force("100 kN"), arm).far, 1) == "-25.0 kN");
}

TEST_CASE("an overhang on a far support that cannot give becomes a built-in arm") {
  const BeamSection section = needle().section;
  const Overhang stiff{length("1 um"), length("1 m")};
  const double overhang = bending_at_load(force("10 kN"), stiff, section).si();
  CHECK(overhang == Approx(bending_at_tip(force("10 kN"), length("1 m"), section).si()).epsilon(1e-5));
}

TEST_CASE("formulas of the handbook cases keep their values") {
  // Derived from AISC table 3-23, not published answers; sections from the AISC Manual, 15th edition, table 1-1, as quoted
  // in an open-source section table, and EN 10365.
  const Pressure steel = pressure("29000 ksi");
  const auto inches4 = [](double count) { return SecondMoment{count * 0.0254 * 0.0254 * 0.0254 * 0.0254}; };
  const auto section = [&](Pressure e, SecondMoment i) { return BeamSection{e, e * 0.4, i, area("1 in2")}; };
  const auto inches = [](Length l, int decimals) { return amount_text(amount(l), "in", decimals); };

  const BeamSection w18x50 = section(steel, inches4(800));
  CHECK(inches(bending_at_load(force("50 kip"), LoadedSpan{length("240 in"), length("120 in")}, w18x50), 6) ==
        "0.620690 in");
  CHECK(inches(bending_at_load(force("50 kip"), LoadedSpan{length("240 in"), length("60 in")}, w18x50), 6) ==
        "0.349138 in");
  CHECK(inches(bending_at_load(force("30 kip"), Overhang{length("180 in"), length("48 in")}, w18x50), 6) ==
        "0.226428 in");
  const BeamSection w14x30 = section(steel, inches4(291));
  CHECK(inches(bending_at_load(force("20 kip"), LoadedSpan{length("192 in"), length("96 in")}, w14x30), 6) ==
        "0.349463 in");
  CHECK(inches(shortening(force("400 kip"), {length("144 in"), area("26.5 in2"), steel}), 6) == "0.074951 in");

  const BeamSection he300b = section(pressure("210000 MPa"), SecondMoment{25170e-8});
  CHECK(mm(bending_at_load(force("400 kN"), LoadedSpan{length("4 m"), length("2 m")}, he300b), 3) == "10.090 mm");
  const BeamSection ub457 = section(pressure("210000 MPa"), SecondMoment{29380e-8});
  CHECK(mm(bending_at_load(force("200 kN"), LoadedSpan{length("6 m"), length("3 m")}, ub457), 3) == "14.587 mm");
  CHECK(mm(shortening(force("2000 kN"), {length("3 m"), Area::from_si(0.36), pressure("30000 MPa")}), 4) ==
        "0.5556 mm");
}
