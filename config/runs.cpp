#include "config/runs.hpp"

#include <algorithm>

namespace standfast {

std::vector<Run> runs_of(std::vector<int> addresses) {
  std::ranges::sort(addresses);
  std::vector<Run> runs;
  for (const int address : addresses) {
    if (!runs.empty() && runs.back().holds(address)) continue;
    const bool next = !runs.empty() && runs.back().start + runs.back().count == address;
    if (next && runs.back().count < longest_run) ++runs.back().count;
    else runs.push_back({address, 1});
  }
  return runs;
}

}  // namespace standfast
