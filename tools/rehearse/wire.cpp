#include "tools/rehearse/wire.hpp"

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>

namespace standfast::rehearse {
namespace {

double raw_of(const Channel& channel, double value) {
  const Scale& scale = channel.scale;
  const double raw = scale.raw_low + (value - scale.value_low) / (scale.value_high - scale.value_low) * (scale.raw_high - scale.raw_low);
  return scale.loop ? raw * 1000.0 * scale.counts_per_mA : raw;
}

template <class T>
std::uint64_t whole(double raw) {
  const double least = static_cast<double>(std::numeric_limits<T>::min());
  const double most = static_cast<double>(std::numeric_limits<T>::max());
  const double held = std::clamp(std::nearbyint(raw), least, most);
  if (held >= most) return static_cast<std::uint64_t>(std::numeric_limits<T>::max());
  return static_cast<std::uint64_t>(static_cast<T>(held));
}

std::uint64_t bits_of(RawType type, double raw) {
  switch (type) {
    case RawType::uint16: return whole<std::uint16_t>(raw);
    case RawType::int16: return whole<std::int16_t>(raw);
    case RawType::uint32: return whole<std::uint32_t>(raw);
    case RawType::int32: return whole<std::int32_t>(raw);
    case RawType::uint64: return whole<std::uint64_t>(raw);
    case RawType::int64: return whole<std::int64_t>(raw);
    case RawType::float32: return std::bit_cast<std::uint32_t>(static_cast<float>(raw));
    case RawType::float64: return std::bit_cast<std::uint64_t>(raw);
  }
  return 0;
}

double dead_raw(const Channel& channel) {
  if (channel.scale.loop) return 0;
  if (channel.type == RawType::float32 || channel.type == RawType::float64) return std::numeric_limits<double>::quiet_NaN();
  return std::numeric_limits<double>::max();
}

std::uint16_t swapped(std::uint16_t word) { return static_cast<std::uint16_t>(word << 8 | word >> 8); }

}  // namespace

std::vector<std::uint16_t> words_for(const Channel& channel, const Shown& shown) {
  const std::uint64_t bits = bits_of(channel.type, shown.shape == Shape::dead ? dead_raw(channel) : raw_of(channel, shown.value));
  const auto count = static_cast<std::size_t>(words_of(channel.type));
  std::vector<std::uint16_t> words(count);
  for (std::size_t i = 0; i < count; ++i) {
    const std::size_t from_low_end = channel.word_order == Order::big ? count - 1 - i : i;
    words[i] = static_cast<std::uint16_t>(bits >> (16 * from_low_end));
    if (channel.byte_order == Order::little) words[i] = swapped(words[i]);
  }
  return words;
}

}  // namespace standfast::rehearse
