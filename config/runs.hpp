// Addresses that lie next to each other are written and read together.
#pragma once

#include <vector>

namespace standfast {

struct Run {
  int start{0}, count{0};
  constexpr bool holds(int address) const { return address >= start && address < start + count; }
};
inline constexpr int longest_run = 100;  // Fits any request.

// In the order of addresses, each address once.
std::vector<Run> runs_of(std::vector<int> addresses);

}  // namespace standfast
