// Exact arithmetic on decimal digits. Units are converted on the digits a person wrote, so that the only rounding is the
// last one: `0.5 mm` is the double nearest to 0.0005, not 0.5 times a rounded 0.001.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

namespace standfast {

// digits x 10^exponent. No leading zero in `digits` but for zero itself, which is "0" and never negative.
struct Decimal {
  bool negative{false};
  std::string digits{"0"};
  int exponent{0};
};

// From an unsigned run of ASCII digits, leading zeros allowed.
Decimal decimal_of_digits(bool negative, std::string digits, int exponent);

// The shortest decimal number that reads back as this double, which must be finite.
Decimal decimal_of(double value);

// `factor` from 1 to 10^18.
Decimal multiplied(Decimal number, std::uint64_t factor);

// `divisor` from 1 to 10^18. Exact where the quotient ends within 60 digits, otherwise cut there and marked by a last 1,
// which keeps every later rounding right unless a halfway case lies within 10^-60 of the quotient.
Decimal divided(Decimal number, std::uint64_t divisor);

Decimal sum(const Decimal& a, const Decimal& b);

// Correctly rounded; beyond the range of a double its largest, below its least zero, both with the number's sign.
double nearest_double(const Decimal& number);

// Fixed point, half away from zero; a result of nothing but zeros has no sign. `decimals` from 0.
std::string fixed_text(const Decimal& number, int decimals);

// The number itself where it is whole and fits.
std::optional<std::int64_t> whole_number(const Decimal& number);

}  // namespace standfast
