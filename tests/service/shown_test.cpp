#include <catch2/catch.hpp>

#include "daemon/panel/shown.hpp"
#include "daemon/panel/target_pressure.hpp"

using namespace standfast;

namespace {

constexpr Dimension dimension(Base base, Per per = Per::none) { return {base, per}; }

}  // namespace

TEST_CASE("an amount is shown in the rig's unit, never finer than an instrument can know") {
  Rig rig;
  rig.display_units = {{dimension(Base::force), "kip"}, {dimension(Base::pressure), "psi"}, {dimension(Base::length), "in"}};
  const Shown metric{nullptr}, imperial{&rig};
  CHECK(metric.text(Amount{dimension(Base::force), 361'040}) == "361.0 kN");
  CHECK(metric.text(Amount{dimension(Base::pressure), 28.54e6}) == "285.4 bar");
  CHECK(metric.text(Amount{dimension(Base::length), 0.00231}) == "2.31 mm");
  CHECK(metric.text(Amount{dimension(Base::ratio), 0.275}) == "27.5 %");
  // 1 kip = 4448.2216152605 N, 1 psi = 6894.757293168 Pa, 1 in = 25.4 mm (NIST SP 811, appendix B.8).
  CHECK(imperial.text(Amount{dimension(Base::force), 444'822.16152605}) == "100.00 kip");
  CHECK(imperial.text(Amount{dimension(Base::pressure), 6'894'757.293168}) == "1000 psi");
  CHECK(imperial.text(Amount{dimension(Base::length), 0.00254}) == "0.1000 in");
}

TEST_CASE("what goes both ways says which way, and nought has no sign") {
  const Shown shown{nullptr};
  const Amount up{dimension(Base::length), 0.00012}, down{dimension(Base::length), -0.00012}, nought{dimension(Base::length), 1e-7};
  CHECK(shown.text(up, Sign::both) == "+0.12 mm");
  CHECK(shown.text(down, Sign::both) == "-0.12 mm");
  CHECK(shown.text(nought, Sign::both) == "0.00 mm");
  CHECK(shown.text(up) == "0.12 mm");
  CHECK(shown.text(Reading{Quality::uncertain, Cause::skewed, up, 0, Saturation::none, false, {}, {}}, Sign::both) == "~+0.12 mm");
}

// The piston of the example: 95.03 cm2, so 500 bar are 475.15 kN (1 bar = 100 kPa, NIST SP 811, appendix B.8).
TEST_CASE("the pressure that makes a load is found on the certificate where there is one, else by the area") {
  Jack jack;
  jack.area = Area::from_si(95.03e-4);
  jack.rated = Force::from_si(665e3);
  const Force load = Force::from_si(475.15e3);
  REQUIRE(target_pressure(jack, load, Direction::rising, Pressure{}));
  CHECK(target_pressure(jack, load, Direction::rising, Pressure{})->si() == Approx(50e6));
  CHECK_FALSE(target_pressure(jack, Force::from_si(2e6), Direction::rising, Pressure{}));
  jack.rising = {{Pressure{}, Force{}}, {Pressure::from_si(60e6), Force::from_si(550e3)}};
  jack.falling = {{Pressure{}, Force{}}, {Pressure::from_si(50e6), Force::from_si(550e3)}};
  CHECK(target_pressure(jack, Force::from_si(275e3), Direction::rising, Pressure{})->si() == Approx(30e6));
  CHECK(target_pressure(jack, Force::from_si(275e3), Direction::falling, Pressure{})->si() == Approx(25e6));
  jack.retract = ChannelId{1};
  jack.retract_area = Area::from_si(50e-4);
  CHECK(target_pressure(jack, Force::from_si(270e3), Direction::rising, Pressure::from_si(1e6))->si() == Approx(30e6));
}

TEST_CASE("nought is one digit before the point, in every unit") {
  const Shown shown{nullptr};
  CHECK(shown.text(Amount{dimension(Base::ratio), 0}) == "0.0 %");
  CHECK(shown.text(Amount{dimension(Base::length), 0}) == "0.00 mm");
  CHECK(shown.text(Amount{dimension(Base::force), 0}) == "0.0 kN");
  CHECK(shown.text(Amount{dimension(Base::force), -1e-9}) == "0.0 kN");
}

TEST_CASE("a reading without a number says why, one in doubt carries a mark, one off the scale its side") {
  const Shown shown{nullptr};
  Reading reading{Quality::bad, Cause::stale, {}, 0, Saturation::none, false, {}, {}};
  CHECK(shown.text(reading) == "no data: the last answer is too old");
  reading = {Quality::uncertain, Cause::skewed, {dimension(Base::length), 0.001}, 0, Saturation::none, false, {}, {}};
  CHECK(shown.text(reading) == "~1.00 mm");
  reading.saturated = Saturation::high;
  CHECK(shown.text(reading) == "above its range");
}

TEST_CASE("a bound as a person stated it takes so many decimals that none of it is lost") {
  const Shown shown{nullptr};
  constexpr Dimension rate{Base::length, Per::second};
  const Amount bound{rate, 0.004e-3 / 60};
  CHECK(shown.text(bound) == "0.00 mm/min");
  CHECK(shown.decimals_to_say(bound) == 3);
  CHECK(shown.text(bound, Sign::both, shown.decimals_to_say(bound)) == "+0.004 mm/min");
  CHECK(shown.decimals_to_say({{Base::force, Per::none}, 460e3}) == 0);
  CHECK(shown.decimals_to_say({{Base::length, Per::none}, 1e-3 / 3}) == 5);  // No end: as many as are ever shown.
}

TEST_CASE("a bound that was worked out is shown to a hundredth of itself, and no finer than that asks for") {
  const Shown shown{nullptr};
  const auto text = [&](Base base, double si, Per per = Per::none) {
    const Amount bound{dimension(base, per), si};
    return shown.text(bound, Sign::minus, shown.decimals_of_bound(bound));
  };
  CHECK(text(Base::length, 0.004e-3 / 60, Per::second) == "0.004 mm/min");
  CHECK(text(Base::length, 0.35e-3) == "0.35 mm");
  CHECK(text(Base::length, 0.0351e-3) == "0.035 mm");
  CHECK(text(Base::force, 203'512.34) == "203.5 kN");
  CHECK(text(Base::force, 1.234) == "0.00123 kN");
  CHECK(text(Base::length, 0) == "0.00 mm");
  CHECK(text(Base::length, 1e-12) == "0.00000 mm");  // Finer than is ever shown.
}
