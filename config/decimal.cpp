#include "config/decimal.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cstddef>
#include <limits>
#include <system_error>
#include <utility>

#include "config/ensure.hpp"

namespace standfast {
namespace {

constexpr std::uint64_t largest_factor = 1'000'000'000'000'000'000;  // Ten times it still fits in 64 bits.
constexpr std::size_t quotient_digits = 60;

std::uint64_t value_of(char digit) { return static_cast<std::uint64_t>(digit - '0'); }
char digit_of(std::uint64_t value) { return static_cast<char>('0' + value); }

// Both of the same length; least significant digit last.
std::string added(const std::string& a, const std::string& b) {
  std::string total(a.size(), '0');
  std::uint64_t carry = 0;
  for (std::size_t i = a.size(); i-- > 0;) {
    const std::uint64_t column = value_of(a[i]) + value_of(b[i]) + carry;
    total[i] = digit_of(column % 10);
    carry = column / 10;
  }
  return carry == 0 ? total : "1" + total;
}

// Both of the same length, a not less than b.
std::string subtracted(const std::string& a, const std::string& b) {
  std::string difference(a.size(), '0');
  std::uint64_t borrow = 0;
  for (std::size_t i = a.size(); i-- > 0;) {
    const std::uint64_t column = value_of(a[i]) + 10 - value_of(b[i]) - borrow;
    difference[i] = digit_of(column % 10);
    borrow = column < 10 ? 1 : 0;
  }
  return difference;
}

// The number times 10^decimals, rounded half away from zero: digits only, possibly none.
std::string rounded_digits(const Decimal& number, int decimals) {
  const int keep = static_cast<int>(number.digits.size()) + number.exponent + decimals;
  if (keep < 0) return {};
  const auto kept = static_cast<std::size_t>(keep);
  if (kept >= number.digits.size()) return number.digits + std::string(kept - number.digits.size(), '0');
  const std::string head = number.digits.substr(0, kept);
  if (number.digits[kept] < '5') return head;
  return head.empty() ? "1" : added(head, std::string(kept - 1, '0') + "1");
}

}  // namespace

Decimal decimal_of_digits(bool negative, std::string digits, int exponent) {
  const std::size_t first = digits.find_first_not_of('0');
  if (first == std::string::npos) return {};
  digits.erase(0, first);
  return {negative, std::move(digits), exponent};
}

Decimal decimal_of(double value) {
  ENSURE(value - value == 0.0);
  std::array<char, 40> buffer;
  const auto end =
      std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::scientific).ptr;
  const std::string text(buffer.data(), end);  // `-d.ddde-xx`
  const bool negative = text.front() == '-';
  const std::size_t mark = text.find('e');
  std::string digits = text.substr(negative ? 1 : 0, mark - (negative ? 1 : 0));
  int exponent = 0;
  const char* const from = text.data() + mark + (text[mark + 1] == '+' ? 2 : 1);
  std::from_chars(from, text.data() + text.size(), exponent);
  if (digits.size() > 1) digits.erase(1, 1);
  exponent -= static_cast<int>(digits.size()) - 1;
  return decimal_of_digits(negative, std::move(digits), exponent);
}

Decimal multiplied(Decimal number, std::uint64_t factor) {
  ENSURE(factor >= 1 && factor <= largest_factor);
  std::uint64_t carry = 0;
  for (std::size_t i = number.digits.size(); i-- > 0;) {
    const std::uint64_t column = value_of(number.digits[i]) * factor + carry;
    number.digits[i] = digit_of(column % 10);
    carry = column / 10;
  }
  number.digits.insert(0, carry == 0 ? "" : std::to_string(carry));
  return decimal_of_digits(number.negative, std::move(number.digits), number.exponent);
}

Decimal divided(Decimal number, std::uint64_t divisor) {
  ENSURE(divisor >= 1 && divisor <= largest_factor);
  std::string quotient;
  std::uint64_t remainder = 0;
  const auto bring_down = [&](std::uint64_t digit) {
    remainder = remainder * 10 + digit;
    if (!quotient.empty() || remainder >= divisor) quotient += digit_of(remainder / divisor);
    remainder %= divisor;
  };
  for (char digit : number.digits) bring_down(value_of(digit));
  while (remainder != 0 && quotient.size() < quotient_digits) {
    bring_down(0);
    --number.exponent;
  }
  if (remainder != 0) {
    quotient += '1';
    --number.exponent;
  }
  return decimal_of_digits(number.negative, std::move(quotient), number.exponent);
}

Decimal sum(const Decimal& a, const Decimal& b) {
  const int exponent = std::min(a.exponent, b.exponent);
  std::string x = a.digits + std::string(static_cast<std::size_t>(a.exponent - exponent), '0');
  std::string y = b.digits + std::string(static_cast<std::size_t>(b.exponent - exponent), '0');
  const std::size_t width = std::max(x.size(), y.size());
  x.insert(0, width - x.size(), '0');
  y.insert(0, width - y.size(), '0');
  if (a.negative == b.negative) return decimal_of_digits(a.negative, added(x, y), exponent);
  if (x >= y) return decimal_of_digits(a.negative, subtracted(x, y), exponent);
  return decimal_of_digits(b.negative, subtracted(y, x), exponent);
}

double nearest_double(const Decimal& number) {
  const std::string text = (number.negative ? "-" : "") + number.digits + "e" + std::to_string(number.exponent);
  double value = 0;
  const auto read = std::from_chars(text.data(), text.data() + text.size(), value);
  ENSURE(read.ptr == text.data() + text.size());
  if (read.ec == std::errc{}) return value;
  const bool vast = static_cast<int>(number.digits.size()) + number.exponent > 0;
  const double size = vast ? std::numeric_limits<double>::max() : 0.0;
  return number.negative ? -size : size;
}

std::string fixed_text(const Decimal& number, int decimals) {
  ENSURE(decimals >= 0);
  const auto behind = static_cast<std::size_t>(decimals);
  std::string digits = rounded_digits(number, decimals);
  if (digits.size() <= behind) digits.insert(0, behind + 1 - digits.size(), '0');
  const bool nothing = digits.find_first_not_of('0') == std::string::npos;
  if (nothing) digits.assign(behind + 1, '0');  // Nought with a power of ten behind it is still one digit.
  if (behind > 0) digits.insert(digits.size() - behind, 1, '.');
  return number.negative && !nothing ? "-" + digits : digits;
}

std::optional<std::int64_t> whole_number(const Decimal& number) {
  std::string digits = number.digits;
  int exponent = number.exponent;
  for (; exponent < 0 && digits.size() > 1 && digits.back() == '0'; ++exponent) digits.pop_back();
  if (digits == "0") return 0;
  if (exponent < 0 || exponent > 18) return std::nullopt;
  digits.insert(0, number.negative ? "-" : "").append(static_cast<std::size_t>(exponent), '0');
  std::int64_t value = 0;
  const auto read = std::from_chars(digits.data(), digits.data() + digits.size(), value);
  if (read.ec != std::errc{}) return std::nullopt;
  return value;
}

}  // namespace standfast
