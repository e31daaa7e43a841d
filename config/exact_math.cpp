#include "config/exact_math.hpp"

#include <array>
#include <bit>
#include <cstddef>
#include <cstdint>

#include "config/ensure.hpp"

namespace standfast {
namespace {

// A number as an unevaluated sum, `lo` below the last place of `hi`: about 106 bits.
// Sum: Knuth, The Art of Computer Programming, vol. 2, 4.2.2. Product: Dekker, Numerische Mathematik 18 (1971) 224-242.
struct Pair {
  double hi{0}, lo{0};
};

Pair sum(double a, double b) {
  const double hi = a + b;
  const double of_b = hi - a;
  return {hi, (a - (hi - of_b)) + (b - of_b)};
}

// The same for |a| not below |b|.
Pair ordered_sum(double a, double b) {
  const double hi = a + b;
  return {hi, b - (hi - a)};
}

// The upper half of the bits; exact for |a| below 2^996.
double upper_half(double a) {
  const double scaled = 134'217'729.0 * a;  // 2^27 + 1
  return scaled - (scaled - a);
}

Pair product(double a, double b) {
  const double hi = a * b;
  const double a1 = upper_half(a), a2 = a - a1;
  const double b1 = upper_half(b), b2 = b - b1;
  return {hi, ((a1 * b1 - hi) + a1 * b2 + a2 * b1) + a2 * b2};
}

Pair quotient(Pair a, Pair b) {
  const double hi = a.hi / b.hi;
  const Pair whole = product(hi, b.hi);
  const double rest = ((a.hi - whole.hi) - whole.lo) + a.lo - hi * b.lo;
  return ordered_sum(hi, rest / b.hi);
}

// 1/3 + z/5 + z^2/7 + ...: what both series have behind their first term. Twelve terms are enough for |z| up to 0.03.
double series(double z) {
  double value = 0;
  for (int odd = 25; odd >= 3; odd -= 2) value = value * z + 1.0 / odd;
  return value;
}

constexpr double square_root_of_2 = 0x1.6a09e667f3bcdp+0;
constexpr Pair ln_2{0x1.62e42feep-1, 0x1.a39ef35793c76p-33};  // `hi` ends in zeros: exact times any exponent.
constexpr Pair one_over_ln_10{0x1.bcb7b1526e50ep-2, 0x1.95355baaafad3p-57};

// x = mantissa x 2^exponent, mantissa between 1/sqrt 2 and sqrt 2.
struct Parts {
  double mantissa{1};
  int exponent{0};
};
Parts parts_of(double x) {
  int exponent = 0;
  if (x < 0x1p-1022) {  // Subnormal: no hidden bit.
    x *= 0x1p54;
    exponent = -54;
  }
  const auto bits = std::bit_cast<std::uint64_t>(x);
  constexpr std::uint64_t fraction = (std::uint64_t{1} << 52U) - 1;
  const double mantissa = std::bit_cast<double>((bits & fraction) | (std::uint64_t{1023} << 52U));
  exponent += static_cast<int>(bits >> 52U) - 1023;
  return mantissa > square_root_of_2 ? Parts{mantissa / 2, exponent + 1} : Parts{mantissa, exponent};
}

// ln m = 2 artanh s with s = (m - 1) / (m + 1), |s| below 0.172.
Pair logarithm(double x) {
  ENSURE(x > 0 && x - x == 0.0);
  const auto [mantissa, exponent] = parts_of(x);
  const Pair s = quotient({mantissa - 1, 0}, sum(mantissa, 1));
  const double z = s.hi * s.hi;
  const Pair of_mantissa = ordered_sum(2 * s.hi, 2 * (s.lo + s.hi * z * series(z)));
  const Pair total = sum(exponent * ln_2.hi, of_mantissa.hi);
  return ordered_sum(total.hi, total.lo + (of_mantissa.lo + exponent * ln_2.lo));
}

constexpr Pair half_pi{0x1.921fb54442d18p+0, 0x1.1a62633145c07p-54};

constexpr std::array<Pair, 9> arctangent_of_eighths{{
    {0, 0},
    {0x1.fd5ba9aac2f6ep-4, -0x1.cd37686760c17p-59},
    {0x1.f5b75f92c80ddp-3, 0x1.8ab6e3cf7afbdp-57},
    {0x1.6f61941e4def1p-2, -0x1.c63aae6f6e918p-56},
    {0x1.dac670561bb4fp-2, 0x1.a2b7f222f65e2p-56},
    {0x1.1e00babdefeb4p-1, -0x1.928df287a668fp-58},
    {0x1.4978fa3269ee1p-1, 0x1.2419a87f2a458p-56},
    {0x1.700a7c5784634p-1, -0x1.8c34d25aadef6p-56},
    {0x1.921fb54442d18p-1, 0x1.1a62633145c07p-55},
}};

// arctan(y / x) for 0 < y <= x, neither of them beyond 2^60, one of them 1:
// arctan(y / x) = arctan c + arctan((y - c x) / (x + c y)), c the nearest eighth, so that the rest is below 1/16.
Pair arctangent_of_ratio(double y, double x) {
  const auto eighths = static_cast<std::size_t>(8 * (y / x) + 0.5);
  const double c = static_cast<double>(eighths) / 8;
  const Pair cx = product(c, x), cy = product(c, y);
  Pair above = sum(y, -cx.hi), below = sum(x, cy.hi);
  above.lo -= cx.lo;
  below.lo += cy.lo;
  const Pair t = quotient(above, below);
  const double z = t.hi * t.hi;
  const Pair base = arctangent_of_eighths[eighths];
  const Pair total = sum(base.hi, t.hi);
  return ordered_sum(total.hi, total.lo + (base.lo + (t.lo - t.hi * z * series(-z))));
}

double arctangent_of_positive(double x) {
  if (x < 0x1p-27) return x;          // x - x^3/3 rounds to x.
  if (x > 0x1p60) return half_pi.hi;  // What is missing is less than half of the last place.
  if (x <= 1) return arctangent_of_ratio(x, 1).hi;
  const Pair rest = arctangent_of_ratio(1, x);
  const Pair total = sum(half_pi.hi, -rest.hi);
  return total.hi + (total.lo + (half_pi.lo - rest.lo));
}

}  // namespace

double natural_logarithm(double x) { return logarithm(x).hi; }

double decimal_logarithm(double x) {
  const Pair ln = logarithm(x);
  const Pair whole = product(ln.hi, one_over_ln_10.hi);
  return whole.hi + (whole.lo + (ln.hi * one_over_ln_10.lo + ln.lo * one_over_ln_10.hi));
}

double arctangent(double x) {
  ENSURE(x - x == 0.0);
  return x < 0 ? -arctangent_of_positive(-x) : arctangent_of_positive(x);
}

}  // namespace standfast
