// Index types: a jack's number cannot be handed to something that wants a channel's. Each is the place in the vector of
// that kind in the `Rig` (channels, jacks, ...) or the `Plan` (stages).
#pragma once

#include <compare>
#include <cstddef>
#include <cstdint>

namespace standfast {

template <class Tag>
struct Index {
  std::uint16_t number{0};
  constexpr Index() = default;
  constexpr explicit Index(std::size_t n) : number{static_cast<std::uint16_t>(n)} {}
  constexpr operator std::size_t() const = delete;
  constexpr std::size_t at() const { return number; }
  friend constexpr auto operator<=>(Index, Index) = default;
};

using BusId = Index<struct BusTag>;
using ChannelId = Index<struct ChannelTag>;
using InputId = Index<struct InputTag>;
using JackId = Index<struct JackTag>;
using PointId = Index<struct PointTag>;
using CircuitId = Index<struct CircuitTag>;
using GroupId = Index<struct GroupTag>;
using BlockId = Index<struct BlockTag>;
using StageId = Index<struct StageTag>;

}  // namespace standfast
