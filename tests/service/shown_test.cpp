#include <catch2/catch.hpp>

#include "daemon/panel/shown.hpp"

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
