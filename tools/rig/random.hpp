// Chance, the same on every machine: one seed gives one run. (Generator: xoshiro256**, seeded by splitmix64, both by
// Blackman and Vigna, public domain; the standard library's distributions differ between machines.)
#pragma once

#include <array>
#include <bit>
#include <cstdint>

namespace standfast::rig {

class Random {
 public:
  constexpr explicit Random(std::uint64_t seed) {
    for (std::uint64_t& word : state_) word = splitmix(seed);
  }

  constexpr std::uint64_t bits() {
    const std::uint64_t result = std::rotl(state_[1] * 5, 7) * 9;
    const std::uint64_t shifted = state_[1] << 17;
    state_[2] ^= state_[0];
    state_[3] ^= state_[1];
    state_[1] ^= state_[2];
    state_[0] ^= state_[3];
    state_[2] ^= shifted;
    state_[3] = std::rotl(state_[3], 45);
    return result;
  }

  // Evenly in [0, 1).
  constexpr double fraction() { return static_cast<double>(bits() >> 11) * 0x1.0p-53; }

  // Mean 0, standard deviation 1, never beyond 3.5: the sum of four even draws. Bounded, as the noise of an amplifier is.
  constexpr double bell() {
    const double sum = fraction() + fraction() + fraction() + fraction() - 2.0;
    constexpr double deviation = 0.57735026918962576;  // of the sum: sqrt(4 / 12)
    return sum / deviation;
  }

 private:
  static constexpr std::uint64_t splitmix(std::uint64_t& seed) {
    seed += 0x9e3779b97f4a7c15U;
    std::uint64_t z = seed;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9U;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebU;
    return z ^ (z >> 31);
  }

  std::array<std::uint64_t, 4> state_{};
};

}  // namespace standfast::rig
