#include "config/unit_table.hpp"

#include <array>
#include <cstddef>

namespace standfast {
namespace {

struct Unit {
  std::string_view spelling;
  Base base;
  UnitScale scale{};
};

// Sources: international inch (25.4 mm) and pound (0.453 592 37 kg) of 1959, standard gravity 9.806 65 m/s2 (3rd CGPM
// 1901), as printed in NIST SP 811 (2008) appendix B. Hence lbf = 4.448 221 615 260 5 N exactly and
// psi = lbf / 0.000 645 16 m2. An `m` behind a slash is never a minute: rates say `min`.
constexpr std::uint64_t lbf = 44'482'216'152'605;  // x 1e-13 N

constexpr std::array units{
    Unit{"kN", Base::force, {1, 1, 3}},
    Unit{"N", Base::force},
    Unit{"MN", Base::force, {1, 1, 6}},
    Unit{"lbf", Base::force, {lbf, 1, -13}},
    Unit{"kip", Base::force, {lbf, 1, -10}},
    Unit{"tonnef", Base::force, {980'665, 1, -2}},
    Unit{"short tonf", Base::force, {2 * lbf, 1, -10}},
    Unit{"long tonf", Base::force, {224 * lbf, 1, -12}},

    Unit{"bar", Base::pressure, {1, 1, 5}},
    Unit{"Pa", Base::pressure},
    Unit{"kPa", Base::pressure, {1, 1, 3}},
    Unit{"MPa", Base::pressure, {1, 1, 6}},
    Unit{"psi", Base::pressure, {lbf, 64'516, -5}},
    Unit{"ksi", Base::pressure, {lbf, 64'516, -2}},
    Unit{"kgf/cm2", Base::pressure, {980'665, 1, -1}},

    Unit{"mm", Base::length, {1, 1, -3}},
    Unit{"um", Base::length, {1, 1, -6}},
    Unit{"cm", Base::length, {1, 1, -2}},
    Unit{"m", Base::length},
    Unit{"in", Base::length, {254, 1, -4}},
    Unit{"ft", Base::length, {3'048, 1, -4}},
    Unit{"thou", Base::length, {254, 1, -7}},

    Unit{"cm2", Base::area, {1, 1, -4}},
    Unit{"mm2", Base::area, {1, 1, -6}},
    Unit{"m2", Base::area},
    Unit{"in2", Base::area, {64'516, 1, -8}},
    Unit{"ft2", Base::area, {9'290'304, 1, -8}},

    Unit{"degC", Base::temperature, {1, 1, 0, 27'315}},
    Unit{"K", Base::temperature},
    Unit{"degF", Base::temperature, {5, 9, 0, 45'967}},

    Unit{"K", Base::temperature_difference},
    Unit{"degC", Base::temperature_difference},
    Unit{"degF", Base::temperature_difference, {5, 9, 0}},

    Unit{"s", Base::duration},
    Unit{"ns", Base::duration, {1, 1, -9}},
    Unit{"us", Base::duration, {1, 1, -6}},
    Unit{"ms", Base::duration, {1, 1, -3}},
    Unit{"min", Base::duration, {60, 1, 0}},
    Unit{"h", Base::duration, {3'600, 1, 0}},
    Unit{"d", Base::duration, {86'400, 1, 0}},

    Unit{"%", Base::ratio, {1, 1, -2}},

    Unit{"mA", Base::current, {1, 1, -3}},
    Unit{"A", Base::current},
    Unit{"uA", Base::current, {1, 1, -6}},

    Unit{"mm/m", Base::angle, {1, 1, -3}},
    Unit{"rad", Base::angle},
    Unit{"mrad", Base::angle, {1, 1, -3}},
    Unit{"deg", Base::angle, {314'159'265'358'979'324, 180, -17}},
    Unit{"in/ft", Base::angle, {1, 12, 0}},

    Unit{"kN/mm", Base::stiffness, {1, 1, 6}},
    Unit{"N/m", Base::stiffness},
    Unit{"kN/m", Base::stiffness, {1, 1, 3}},
    Unit{"MN/m", Base::stiffness, {1, 1, 6}},
    Unit{"N/mm", Base::stiffness, {1, 1, 3}},
    Unit{"lbf/in", Base::stiffness, {lbf, 254, -9}},
    Unit{"kip/in", Base::stiffness, {lbf, 254, -6}},
    Unit{"kip/ft", Base::stiffness, {lbf, 3'048, -6}},

    Unit{"kN m", Base::moment, {1, 1, 3}},
    Unit{"N m", Base::moment},
    Unit{"MN m", Base::moment, {1, 1, 6}},
    Unit{"lbf in", Base::moment, {254 * lbf, 1, -17}},
    Unit{"lbf ft", Base::moment, {3'048 * lbf, 1, -17}},
    Unit{"kip in", Base::moment, {254 * lbf, 1, -14}},
    Unit{"kip ft", Base::moment, {3'048 * lbf, 1, -14}},
};

struct Divisor {
  std::string_view spelling;
  Per per;
  std::uint64_t seconds;
};
constexpr std::array divisors{Divisor{"min", Per::second, 60}, Divisor{"s", Per::second, 1},
                              Divisor{"h", Per::second, 3'600}, Divisor{"d", Per::second, 86'400},
                              Divisor{"decade", Per::decade, 1}};

struct Habit {
  std::string_view theirs, ours;
};
constexpr std::array habits{
    Habit{"\u00b5m", "um"},     Habit{"\u03bcm", "um"},   Habit{"micron", "um"},      Habit{"inch", "in"},
    Habit{"inches", "in"},      Habit{"\"", "in"},        Habit{"foot", "ft"},        Habit{"feet", "ft"},
    Habit{"mil", "thou"},       Habit{"mils", "thou"},    Habit{"mm\u00b2", "mm2"},   Habit{"cm\u00b2", "cm2"},
    Habit{"m\u00b2", "m2"},     Habit{"in\u00b2", "in2"}, Habit{"sq in", "in2"},      Habit{"kgf/cm\u00b2", "kgf/cm2"},
    Habit{"kg/cm2", "kgf/cm2"}, Habit{"N/mm2", "MPa"},    Habit{"N/mm\u00b2", "MPa"}, Habit{"kN/m2", "kPa"},
    Habit{"t", "tonnef"},       Habit{"tf", "tonnef"},    Habit{"tonne", "tonnef"},   Habit{"lb", "lbf"},
    Habit{"lbs", "lbf"},        Habit{"kips", "kip"},     Habit{"kNm", "kN m"},       Habit{"Nm", "N m"},
    Habit{"C", "degC"},         Habit{"\u00b0C", "degC"}, Habit{"F", "degF"},         Habit{"\u00b0F", "degF"},
    Habit{"\u00b0", "deg"},     Habit{"sec", "s"},        Habit{"minutes", "min"},    Habit{"hour", "h"},
    Habit{"hours", "h"},        Habit{"day", "d"},        Habit{"days", "d"},         Habit{"percent", "%"},
    Habit{"pct", "%"},
};

// A rate of temperature counts differences: its zero is not absolute zero.
constexpr Base base_of_rows(Dimension dimension) {
  const bool difference = dimension.base == Base::temperature && dimension.per != Per::none;
  return difference ? Base::temperature_difference : dimension.base;
}

std::optional<UnitScale> find_row(std::string_view spelling, Base base) {
  for (const Unit& unit : units) {
    if (unit.base == base && unit.spelling == spelling) return unit.scale;
  }
  return std::nullopt;
}

struct Split {
  std::string_view unit;
  const Divisor* divisor;
};
std::optional<Split> split_at_divisor(std::string_view spelling) {
  const std::size_t slash = spelling.rfind('/');
  if (slash == std::string_view::npos) return std::nullopt;
  for (const Divisor& divisor : divisors) {
    if (spelling.substr(slash + 1) == divisor.spelling) return Split{spelling.substr(0, slash), &divisor};
  }
  return std::nullopt;
}

std::optional<Base> base_of_row(std::string_view spelling) {
  for (const Unit& unit : units) {
    if (unit.spelling == spelling) return unit.base;
  }
  return std::nullopt;
}

}  // namespace

std::optional<UnitScale> find_unit(std::string_view spelling, Dimension dimension) {
  if (dimension.per == Per::none) return find_row(spelling, dimension.base);
  const auto split = split_at_divisor(spelling);
  if (!split || split->divisor->per != dimension.per) return std::nullopt;
  auto scale = find_row(split->unit, base_of_rows(dimension));
  if (scale) scale->denominator *= split->divisor->seconds;
  return scale;
}

std::optional<Dimension> dimension_of_unit(std::string_view spelling) {
  if (const auto base = base_of_row(spelling)) return Dimension{*base, Per::none};
  const auto split = split_at_divisor(spelling);
  const auto base = split ? base_of_row(split->unit) : std::nullopt;
  if (!base) return std::nullopt;
  return Dimension{*base, split->divisor->per};
}

std::vector<std::string> unit_spellings(Dimension dimension) {
  std::vector<std::string> spellings;
  for (const Unit& unit : units) {
    if (unit.base != base_of_rows(dimension)) continue;
    if (dimension.per == Per::none) spellings.emplace_back(unit.spelling);
    for (const Divisor& divisor : divisors) {
      if (divisor.per != dimension.per) continue;
      spellings.push_back(std::string(unit.spelling) + "/" + std::string(divisor.spelling));
    }
  }
  return spellings;
}

std::string_view our_spelling(std::string_view habit) {
  for (const Habit& known : habits) {
    if (known.theirs == habit) return known.ours;
  }
  return {};
}

}  // namespace standfast
