// The earliest of many instants that come and go one by one, without a look at all of them: a tree whose every node holds the
// earlier of the two below it. It takes memory when it is sized, and never again.
#pragma once

#include <algorithm>
#include <bit>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <optional>
#include <vector>

#include "config/instant.hpp"

namespace standfast {

class Earliest {
 public:
  // None anywhere, with room for the places 0 to `places` - 1.
  void begin_anew(std::size_t places) {
    leaves_ = std::bit_ceil(std::max<std::size_t>(1, places));
    nodes_.assign(2 * leaves_, never);
  }

  void set(std::size_t place, std::optional<Instant> at) {
    std::size_t node = leaves_ + place;
    nodes_[node] = at ? at->ns : never;
    for (node /= 2; node > 0; node /= 2) {
      const std::int64_t earlier = std::min(nodes_[2 * node], nodes_[2 * node + 1]);
      if (nodes_[node] == earlier) return;
      nodes_[node] = earlier;
    }
  }

  std::optional<Instant> at() const {
    if (nodes_.empty() || nodes_[1] == never) return std::nullopt;
    return Instant{nodes_[1]};
  }

 private:
  static constexpr std::int64_t never = std::numeric_limits<std::int64_t>::max();

  std::size_t leaves_{0};
  std::vector<std::int64_t> nodes_;  // 1: the root; below `node` stand 2 `node` and 2 `node` + 1.
};

}  // namespace standfast
