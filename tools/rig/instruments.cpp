#include "tools/rig/instruments.hpp"

#include <utility>

#include "config/ensure.hpp"
#include "tools/rig/encode.hpp"
#include "tools/rig/line_text.hpp"

namespace standfast::rig {
namespace {

// Standard deviation in SI. Common practice, no source: a good transmitter flickers by a few ten-thousandths of its
// range, a ram transducer by 4 um, a gauge on the structure by 1.5 um, a thermometer by 0.03 K.
double noise_of(Quantity quantity) {
  switch (quantity) {
    case Quantity::jack_pressure: case Quantity::return_pressure: case Quantity::pump_pressure: return 8e3;
    case Quantity::ram_travel: return 4e-6;
    case Quantity::head: case Quantity::column_base: case Quantity::tower_base: return 1.5e-6;
    case Quantity::steel_temperature: case Quantity::air_temperature: return 0.03;
  }
  return 0;
}

// Nobody mounts a gauge at exactly nought: rams start a little way out, gauges near the middle of their range.
double mounting_of(Quantity quantity, const Channel& channel, double chance) {
  const double width = channel.range_high - channel.range_low;
  switch (quantity) {
    case Quantity::ram_travel: return channel.range_low + (0.08 + 0.02 * chance) * width;
    case Quantity::head: case Quantity::column_base: case Quantity::tower_base:
      return (channel.range_low + channel.range_high) / 2 + 0.02 * (chance - 0.5) * width;
    case Quantity::jack_pressure: case Quantity::return_pressure: case Quantity::pump_pressure:
    case Quantity::steel_temperature: case Quantity::air_temperature: return 0;
  }
  return 0;
}

}  // namespace

Instruments::Instruments(const Rig& rig, Fastening fastening, std::uint64_t seed)
    : channels_{rig.channels}, fastening_{std::move(fastening)}, chance_{seed}, faults_(rig.channels.size()) {
  for (std::size_t c = 0; c < channels_.size(); ++c) {
    stands_at_.push_back(c);
    mounting_.push_back(mounting_of(fastening_.channels[c].quantity, channels_[c], chance_.fraction()));
    words_.push_back(encode(channels_[c], mounting_[c]));
    counts_.push_back(counts_for(channels_[c], mounting_[c]));
  }
}

std::optional<std::string> Instruments::text(ChannelId channel) const {
  const auto& counts = counts_[channel.at()];
  return counts ? std::optional{counts_text(channels_[channel.at()], *counts)} : std::nullopt;
}

void Instruments::mend(ChannelId channel) {
  faults_[channel.at()] = {};
  const std::size_t other = stands_at_[channel.at()];
  if (is_crossed(channel)) cross(channel, ChannelId{other});
}

void Instruments::sample(const Site& site, double pump_pressure, double seconds) {
  for (std::size_t c = 0; c < channels_.size(); ++c) {
    InstrumentFault& fault = faults_[c];
    fault.knocked += fault.drift_per_second * seconds;
    const double flicker = chance_.bell() * noise_of(fastening_.channels[c].quantity) * fault.noise_factor;
    const double truth = true_value(fastening_.channels[stands_at_[c]], site, pump_pressure);
    const double reading = mounting_[c] + (fault.reversed ? -1 : 1) * fault.factor * truth + fault.knocked + flicker;
    ENSURE(reading - reading == 0);  // A number: else the physics went wrong, and no wire may hide it.
    if (fault.unplugged || fault.shorted) {
      words_[c] = fault.shorted ? encode_shorted(channels_[c]) : encode_unplugged(channels_[c]);
      counts_[c].reset();
    } else if (!fault.stuck) {
      words_[c] = encode(channels_[c], reading);
      counts_[c] = counts_for(channels_[c], reading);
    }
  }
}

}  // namespace standfast::rig
