// Numbers that know their dimension: SI inside, finite from birth. How a unit is spelled is known only to unit_text.
//
// Two shapes: `Quantity<Base>` where the dimension is known when the code is written (formulas), and `Amount` where it
// is known when the plan is read (limits). Comparing an Amount with anything of another dimension is a broken invariant.
// Everything that is compared with a limit, band, gate, criterion or clearing goes through `exceeds`, on an integer grid,
// so that a binary fraction never decides (a tolerance of 0.5 mm allows exactly 0.5 mm).
#pragma once

#include <compare>
#include <cstdint>

#include "config/ensure.hpp"
#include "config/instant.hpp"

namespace standfast {

enum class Base : std::uint8_t {
  force,                   // N
  pressure,                // Pa
  length,                  // m
  area,                    // m2
  temperature,             // K, absolute
  temperature_difference,  // K
  duration,                // s
  ratio,                   // 1
  current,                 // A
  angle,                   // rad; a slope is its tangent, kept as an angle's worth of rad per m/m
  stiffness,               // N/m
  moment,                  // N m
};
inline constexpr int base_count = 12;

enum class Per : std::uint8_t { none, second, decade };

struct Dimension {
  Base base{Base::ratio};
  Per per{Per::none};
  friend constexpr bool operator==(Dimension, Dimension) = default;
};

template <Base B>
class Quantity {
 public:
  constexpr Quantity() = default;
  static constexpr Quantity from_si(double si) {
    ENSURE(si - si == 0.0);  // Neither infinite nor NaN: the loader and the scaling have checked before.
    return Quantity{si};
  }
  constexpr double si() const { return si_; }
  friend constexpr auto operator<=>(Quantity, Quantity) = default;
  friend constexpr Quantity operator+(Quantity a, Quantity b) { return from_si(a.si_ + b.si_); }
  friend constexpr Quantity operator-(Quantity a, Quantity b) { return from_si(a.si_ - b.si_); }
  friend constexpr Quantity operator*(Quantity a, double f) { return from_si(a.si_ * f); }

 private:
  constexpr explicit Quantity(double si) : si_{si} {}
  double si_{0.0};
};

using Force = Quantity<Base::force>;
using Pressure = Quantity<Base::pressure>;
using Length = Quantity<Base::length>;
using Area = Quantity<Base::area>;
using Temperature = Quantity<Base::temperature>;
using Ratio = Quantity<Base::ratio>;
using Current = Quantity<Base::current>;
using Angle = Quantity<Base::angle>;
using Stiffness = Quantity<Base::stiffness>;
using Moment = Quantity<Base::moment>;

constexpr Force operator*(Pressure p, Area a) { return Force::from_si(p.si() * a.si()); }

struct Amount {
  Dimension dimension{};
  double si{0.0};
};
template <Base B>
constexpr Amount amount(Quantity<B> q) { return {{B, Per::none}, q.si()}; }

// The step of the comparison grid in SI: 1 mN, 1 Pa, 1 nm, 1 mm2, 1e-6 K, 1 ns, 1e-9 of a ratio, 1 nA, 1e-9 rad, 1 N/m,
// 1 uN m; a thousandth of these per second or per decade.
constexpr double grid_step(Dimension d) {
  constexpr double step[base_count] = {1e-3, 1.0, 1e-9, 1e-6, 1e-6, 1e-6, 1e-9, 1e-9, 1e-9, 1e-9, 1.0, 1e-6};
  return step[static_cast<int>(d.base)] * (d.per == Per::none ? 1.0 : 1e-3);
}

// The nearest grid point, ties away from zero; the largest int64 beyond its range.
constexpr std::int64_t on_grid(Amount a) {
  ENSURE(a.si - a.si == 0.0);
  const double steps = a.si / grid_step(a.dimension);
  constexpr double most = 9.2e18;
  if (steps >= most) return INT64_MAX;
  if (steps <= -most) return -INT64_MAX;
  return static_cast<std::int64_t>(steps < 0 ? steps - 0.5 : steps + 0.5);
}

// Is `value` beyond `bound` upwards? Equality is within. The only comparison of a measured quantity anywhere.
constexpr bool exceeds(Amount value, Amount bound) {
  ENSURE(value.dimension == bound.dimension);
  return on_grid(value) > on_grid(bound);
}

}  // namespace standfast
