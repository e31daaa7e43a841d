#include "config/raw_value.hpp"

#include <bit>

namespace standfast {

namespace {

using Value = Result<double, RawFault>;

// The bits of the number, most significant first.
std::uint64_t joined(std::span<const std::uint16_t> words, Order word_order, Order byte_order) {
  std::uint64_t bits = 0;
  for (std::size_t i = 0; i < words.size(); ++i) {
    const std::uint64_t word = words[word_order == Order::big ? i : words.size() - 1 - i];
    const std::uint64_t ordered = byte_order == Order::big ? word : (word >> 8) | ((word & 0xFF) << 8);
    bits = (bits << 16) | ordered;
  }
  return bits;
}

Value unsigned_value(std::uint64_t n) {
  if (n > (std::uint64_t{1} << 53)) return Failure{RawFault::too_large};
  return static_cast<double>(n);
}

Value signed_value(std::int64_t n) {
  constexpr std::int64_t most = std::int64_t{1} << 53;
  if (n > most || n < -most) return Failure{RawFault::too_large};
  return static_cast<double>(n);
}

// Judged on the bits, before any arithmetic can touch them.
Value float_value(std::uint64_t exponent, std::uint64_t most_exponent, std::uint64_t fraction, double value) {
  if (exponent == most_exponent) return Failure{fraction != 0 ? RawFault::not_a_number : RawFault::infinite};
  if (exponent == 0 && fraction != 0) return Failure{RawFault::denormal};
  return value;
}

Value float32_value(std::uint32_t bits) {
  const std::uint32_t exponent = (bits >> 23) & 0xFF, fraction = bits & 0x7FFFFF;
  return float_value(exponent, 0xFF, fraction, static_cast<double>(std::bit_cast<float>(bits)));
}

Value float64_value(std::uint64_t bits) {
  const std::uint64_t exponent = (bits >> 52) & 0x7FF, fraction = bits & ((std::uint64_t{1} << 52) - 1);
  return float_value(exponent, 0x7FF, fraction, std::bit_cast<double>(bits));
}

}  // namespace

Result<double, RawFault> raw_value(std::span<const std::uint16_t> words, RawType type, Order word_order,
                                   Order byte_order) {
  if (words.size() != static_cast<std::size_t>(words_of(type))) return Failure{RawFault::wrong_count};
  const std::uint64_t bits = joined(words, word_order, byte_order);
  switch (type) {
    case RawType::uint16: case RawType::uint32: case RawType::uint64: return unsigned_value(bits);
    case RawType::int16: return signed_value(static_cast<std::int16_t>(bits));
    case RawType::int32: return signed_value(static_cast<std::int32_t>(bits));
    case RawType::int64: return signed_value(static_cast<std::int64_t>(bits));
    case RawType::float32: return float32_value(static_cast<std::uint32_t>(bits));
    case RawType::float64: return float64_value(bits);
  }
  return Failure{RawFault::wrong_count};
}

}  // namespace standfast
