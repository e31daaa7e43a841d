// Numbers that look random and are the same on every machine for the same seed: splitmix64, by S. Vigna, public domain.
#pragma once

#include <cstdint>

namespace standfast::test {

struct SteadyRandom {
  std::uint64_t state;

  std::uint64_t next() {
    std::uint64_t z = (state += 0x9e3779b97f4a7c15u);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
  }
  // 0 to most - 1; 0 where there is none.
  std::int64_t below(std::int64_t most) { return most <= 0 ? 0 : static_cast<std::int64_t>(next() % static_cast<std::uint64_t>(most)); }
  bool one_in(std::int64_t n) { return below(n) == 0; }
  double between(double least, double most) { return least + (most - least) * (static_cast<double>(next() >> 11) / 9007199254740992.0); }
};

}  // namespace standfast::test
