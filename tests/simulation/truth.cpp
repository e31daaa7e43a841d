#include "tests/simulation/truth.hpp"

#include <bit>
#include <cmath>

namespace standfast::test {
namespace {

// Of two data bytes a register, the first of them the higher: MODBUS Application Protocol V1.1b3, 4.2.
std::uint32_t number_at(const rig::Bytes& said, std::size_t offset, std::size_t registers) {
  std::uint32_t number = 0;
  for (std::size_t i = 0; i < 2 * registers; ++i) number = number << 8U | said.at(2 + 2 * offset + i);
  return number;
}

double counts_of(const Channel& channel, std::size_t offset, const rig::Bytes& said) {
  switch (channel.type) {
    case RawType::uint16: return number_at(said, offset, 1);
    case RawType::int16: return static_cast<std::int16_t>(number_at(said, offset, 1));
    case RawType::float32: return std::bit_cast<float>(number_at(said, offset, 2));
    default: return std::nan("");  // The example has no other.
  }
}

double expected(const Channel& channel, double counts) {
  const Scale& scale = channel.scale;
  const double x = scale.loop ? counts / scale.counts_per_mA / 1000 : counts;
  const double part = (x - scale.raw_low) / (scale.raw_high - scale.raw_low);
  return scale.value_low * (1 - part) + scale.value_high * part;
}

bool bit_at(const rig::Bytes& said, std::size_t offset) { return (said.at(2 + offset / 8) >> (offset % 8) & 1U) != 0; }

}  // namespace

std::string untruth(const Job& job, const Scan& scan, const std::optional<rig::Bytes>& said, const State& state) {
  const Block& block = job.polls.blocks[scan.block.at()];
  if (scan.flaw != Flaw::none) {
    for (const auto& place : block.channels)
      if (const Reading& reading = state.values.channels[place.channel.at()].reading;
          reading.quality != Quality::bad && reading.newest >= scan.taken_at + state.shift)
        return job.rig.channels[place.channel.at()].name + " has a number of an answer with a flaw";
    return {};
  }
  if (!said) return "an answer that nobody gave is taken";
  for (const auto& place : block.channels) {
    const Channel& channel = job.rig.channels[place.channel.at()];
    const Reading& reading = state.values.channels[place.channel.at()].reading;
    if (reading.quality == Quality::bad) continue;
    const double value = expected(channel, counts_of(channel, static_cast<std::size_t>(place.offset), *said));
    const double width = std::abs(channel.scale.value_high - channel.scale.value_low);
    if (reading.saturated != Saturation::none) {  // Then it is a bound, and the instrument said more, or less.
      const bool high = reading.saturated == Saturation::high;
      if (high ? value >= reading.value.si : value <= reading.value.si) continue;
    }
    if (!(std::abs(reading.value.si - value) <= 1e-9 * width))
      return channel.name + " is " + std::to_string(reading.value.si) + " where its instrument said " + std::to_string(value);
  }
  for (const auto& place : block.inputs)
    if (!state.input_known[place.input.at()] ||
        state.inputs[place.input.at()] != bit_at(*said, static_cast<std::size_t>(place.offset)))
      return job.rig.inputs[place.input.at()].name + " is not what its contact said";
  return {};
}

}  // namespace standfast::test
