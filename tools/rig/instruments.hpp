// The instruments of the simulated site: true values in, words on the wire out, each with its noise, its steps and its
// faults. Pure and seeded: the words change only in `sample`.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "config/rig.hpp"
#include "tools/rig/random.hpp"
#include "tools/rig/source.hpp"

namespace standfast::rig {

struct InstrumentFault {
  bool stuck{false};
  bool unplugged{false};
  bool shorted{false};         // A current loop.
  bool reversed{false};        // Mounted the wrong way round.
  double factor{1};            // Set to another unit than the rig file states.
  double knocked{0};          // SI, added.
  double drift_per_second{0};  // SI, added for each second.
  double noise_factor{1};
};

class Instruments {
 public:
  Instruments(const Rig& rig, Fastening fastening, std::uint64_t seed);

  // One look of every instrument at the site, `seconds` after the last.
  void sample(const Site& site, double pump_pressure, double seconds);

  const std::vector<std::uint16_t>& words(ChannelId channel) const { return words_[channel.at()]; }
  // What it says where it speaks text; none while it has no number.
  std::optional<std::string> text(ChannelId channel) const;
  InstrumentFault& fault(ChannelId channel) { return faults_[channel.at()]; }
  void mend(ChannelId channel);
  // Each of two channels that still stand for themselves is on the other's place from now on.
  bool is_crossed(ChannelId channel) const { return stands_at_[channel.at()] != channel.at(); }
  void cross(ChannelId one, ChannelId other) { std::swap(stands_at_[one.at()], stands_at_[other.at()]); }
  std::size_t leg_of(JackId jack) const { return fastening_.jack_leg[jack.at()]; }

 private:
  std::vector<Channel> channels_;
  Fastening fastening_;
  Random chance_;
  std::vector<double> mounting_;  // What each instrument reads while nothing has moved, SI.
  std::vector<InstrumentFault> faults_;
  std::vector<std::size_t> stands_at_;  // The channel in whose place each is: its own, unless two are crossed.
  std::vector<std::vector<std::uint16_t>> words_;
  std::vector<std::optional<double>> counts_;  // What it says where it speaks text; none while it has no number.
};

}  // namespace standfast::rig
