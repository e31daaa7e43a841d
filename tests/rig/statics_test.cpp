// The simulated site against closed forms: statics of a beam on two supports, elastic shortening, thermal growth. The
// set-up and its results were computed by hand with the formulas named beside each check (any book on strength of
// materials; from memory), for a column of 1860 kN on two needles of 3.00 m.
#include <catch2/catch.hpp>
#include <cmath>

#include "tests/rig/worked_site.hpp"

using namespace standfast;
using namespace standfast::rig;

TEST_CASE("the leg nearer to the column takes more, by the lever rule") {
  // R_A = P b / L, R_B = P a / L with P 930 kN, a 1.35 m, b 1.65 m: 511.5 and 418.5 kN.
  Site site{worked_site()};
  raise_to(site, {511.5e3, 418.5e3, 511.5e3, 418.5e3});
  CHECK(site.total_load() == Approx(1860e3).epsilon(1e-6));
  CHECK(site.tilt(0) == Approx(0).margin(1e-6));  // No moment is left for the column.
  CHECK(site.tilt(1) == Approx(0).margin(1e-6));
}

TEST_CASE("loads in another ratio than the lever arms' bend the column") {
  Site site{worked_site()};
  raise_to(site, {465e3, 465e3, 465e3, 465e3});
  // The moment R_B b - R_A a = 465 kN x 0.30 m = 139.5 kN m goes into the clamp of 50 MN m/rad.
  CHECK(site.tilt(0) == Approx(139.5e3 / 50e6).epsilon(2e-3));
}

TEST_CASE("the column rises over the line between the jacks by bending and shear of the needle") {
  // P a^2 b^2 / (3 E I L) = 2.713 mm and P a b / (L G A_web) = 0.947 mm.
  const BeamSection beam = worked_site().beam;
  const double line_rise = (end_compliance(beam, -1.35) * 511.5e3 * 1.65 + end_compliance(beam, 1.65) * 418.5e3 * 1.35) / 3.0;
  CHECK(line_rise * 1e3 == Approx(2.713 + 0.947).margin(0.001));
}

TEST_CASE("a leg gives by tower and ground as computed by hand") {
  CHECK(worked_site().tower.compliance() * 511.5e3 * 1e3 == Approx(0.487).margin(0.001));  // R h / (E A)
  CHECK(Ground{250e6, 0, 10, 0}.settlement(511.5e3) * 1e3 == Approx(2.046).margin(0.001));   // R / k
}

TEST_CASE("ram travel is bending, shear, tower, ground and bedding in series, less the turn of the beam") {
  Site site{worked_site()};
  raise_to(site, {511.5e3, 418.5e3, 511.5e3, 418.5e3});
  // Both ends of a needle raised level: the beam's 2.713 + 0.947 mm, tower and ground of each end. The clamped needle does
  // not turn, so its two ends bend unlike; the line between the jacks counts.
  const double a = site.travel(0) - 511.5e3 * (worked_site().tower.compliance() + 1 / 250e6);
  const double b = site.travel(1) - 418.5e3 * (worked_site().tower.compliance() + 1 / 250e6);
  const double bedding = 0.8e-3;  // All of it under such loads.
  CHECK(((a * 1.65 + b * 1.35) / 3.0 - bedding - site.head()) * 1e3 == Approx(2.713 + 0.947).margin(0.002));
}

TEST_CASE("a column of 500 x 500 mm recovers 0.868 mm and then lets go") {
  Site site{worked_site(Frame{40e6, 0})};
  CHECK(worked_site().column.recovery() * 1e3 == Approx(0.868).margin(0.001));  // N l / (E A)
  raise_to(site, {505e3, 413e3, 505e3, 413e3});
  CHECK(site.column_force() > 0);
  CHECK(site.head() * 1e3 < 0.868);
  raise_to(site, {525e3, 430e3, 525e3, 430e3});
  CHECK(site.column_force() == 0);
  CHECK(site.head() * 1e3 > 0.868);
}

TEST_CASE("beyond the knee only the frame holds the head back") {
  Site site{worked_site(Frame{40e6, 0})};
  raise_to(site, {525e3, 430e3, 525e3, 430e3});
  const double load = site.total_load();
  const double head = site.head();
  raise_to(site, {530e3, 434e3, 530e3, 434e3});
  CHECK((site.total_load() - load) / (site.head() - head) == Approx(40e6).epsilon(1e-4));
}

TEST_CASE("before the knee the column holds the head back as well") {
  Site site{worked_site(Frame{40e6, 0})};
  raise_to(site, {100e3, 80e3, 100e3, 80e3});
  const double load = site.total_load();
  const double head = site.head();
  raise_to(site, {200e3, 160e3, 200e3, 160e3});
  CHECK((site.total_load() - load) / (site.head() - head) == Approx(40e6 + 0.25 * 30e9 / 3.5).epsilon(1e-4));
}

TEST_CASE("ten kelvin lengthen a tower of 3.2 m by 0.384 mm") {
  CHECK(worked_site().tower.growth(10) * 1e3 == Approx(0.384).margin(1e-9));  // alpha h dT, alpha 12e-6 / K
}

TEST_CASE("oil under 403.8 bar gives 1.08 mm of 40 mm") {
  Site site{worked_site()};
  // Stiffness K A / l = 475 kN/mm with K 1.5 GPa, piston 127.0 mm.
  const double stiffness = 1.5e9 * site.piston_area() / 0.04;
  CHECK(stiffness * 1e-6 == Approx(475.0).margin(0.1));
  CHECK(511.5e3 / stiffness * 1e3 == Approx(1.08).margin(0.005));
}

TEST_CASE("pressure is load over piston area when nothing rubs") {
  // 511.5 kN and 418.5 kN on 12 667.7 mm2: 403.8 and 330.4 bar.
  Site site{worked_site()};
  raise_to(site, {511.5e3, 418.5e3, 511.5e3, 418.5e3});
  CHECK(site.pressure(0) * 1e-5 == Approx(403.8).margin(0.05));
  CHECK(site.pressure(1) * 1e-5 == Approx(330.4).margin(0.05));
}

TEST_CASE("ground that was raised above where it stood creeps as new ground does, under however little load") {
  rig::Ground raised{.creep_per_decade = 1e-9, .crept = -0.3e-3}, fresh{.creep_per_decade = 1e-9};
  for (const double load : {1e-6, 1e-3, 1.0, 1e5}) {
    rig::Ground a = raised, b = fresh;
    a.creep(load, 10);
    b.creep(load, 10);
    CHECK(a.crept - raised.crept == Approx(b.crept).margin(1e-18));
  }
}
