#include "tools/rig/encode.hpp"

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>

namespace standfast::rig {
namespace {

// Most significant word first, most significant byte first within it.
std::vector<std::uint16_t> split(std::uint64_t bits, int words) {
  std::vector<std::uint16_t> out;
  for (int n = words; n-- > 0;) out.push_back(static_cast<std::uint16_t>(bits >> (16 * n)));
  return out;
}

std::vector<std::uint16_t> ordered(std::vector<std::uint16_t> words, const Channel& channel) {
  if (channel.word_order == Order::little) std::reverse(words.begin(), words.end());
  if (channel.byte_order == Order::little) {
    for (std::uint16_t& word : words) word = static_cast<std::uint16_t>(word << 8 | word >> 8);
  }
  return words;
}

template <class Integer>
std::uint64_t integer(double raw) {
  constexpr double low = static_cast<double>(std::numeric_limits<Integer>::min());
  constexpr double high = static_cast<double>(std::numeric_limits<Integer>::max());
  const double whole = std::round(raw);
  if (whole <= low) return static_cast<std::uint64_t>(std::numeric_limits<Integer>::min());
  if (whole >= high) return static_cast<std::uint64_t>(std::numeric_limits<Integer>::max());
  return static_cast<std::uint64_t>(static_cast<Integer>(whole));
}

std::uint64_t bits_of(RawType type, double raw) {
  switch (type) {
    case RawType::uint16: return integer<std::uint16_t>(raw);
    case RawType::int16: return integer<std::int16_t>(raw);
    case RawType::uint32: return integer<std::uint32_t>(raw);
    case RawType::int32: return integer<std::int32_t>(raw);
    case RawType::uint64: return integer<std::uint64_t>(raw);
    case RawType::int64: return integer<std::int64_t>(raw);
    case RawType::float32: return std::bit_cast<std::uint32_t>(static_cast<float>(raw));
    case RawType::float64: return std::bit_cast<std::uint64_t>(raw);
  }
  return 0;
}

double raw_for(const Channel& channel, double value) {
  const Scale& scale = channel.scale;
  const double part = (value - scale.value_low) / (scale.value_high - scale.value_low);
  const double raw = scale.raw_low + part * (scale.raw_high - scale.raw_low);
  if (!scale.loop) return raw;
  const double milliampere = std::clamp(raw * 1e3, 3.8, 20.5);
  return milliampere * scale.counts_per_mA;
}

std::vector<std::uint16_t> words_for(const Channel& channel, double raw) {
  return ordered(split(bits_of(channel.type, raw), words_of(channel.type)), channel);
}

}  // namespace

std::vector<std::uint16_t> encode(const Channel& channel, double value) {
  const bool whole = channel.type != RawType::float32 && channel.type != RawType::float64;
  const double step = channel.resolution;
  if (!whole && step > 0) value = std::round(value / step) * step;
  return words_for(channel, raw_for(channel, value));
}

double counts_for(const Channel& channel, double value) {
  const double step = channel.resolution;
  return raw_for(channel, step > 0 ? std::round(value / step) * step : value);
}

std::vector<std::uint16_t> encode_unplugged(const Channel& channel) {
  if (channel.scale.loop) return words_for(channel, 0);
  switch (channel.type) {
    case RawType::float32: case RawType::float64: return words_for(channel, std::numeric_limits<double>::quiet_NaN());
    case RawType::uint16: case RawType::uint32: case RawType::uint64:
      return words_for(channel, std::numeric_limits<double>::max());
    case RawType::int16: case RawType::int32: case RawType::int64:
      return words_for(channel, std::numeric_limits<double>::lowest());
  }
  return {};
}

std::vector<std::uint16_t> encode_shorted(const Channel& channel) { return words_for(channel, 22 * channel.scale.counts_per_mA); }

}  // namespace standfast::rig
