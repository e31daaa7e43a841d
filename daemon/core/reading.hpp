// A value with its doubt: what every quantity in the core is made of.
#pragma once

#include <cstdint>
#include <optional>

#include "config/instant.hpp"
#include "config/units.hpp"
#include "daemon/core/cause.hpp"

namespace standfast {

enum class Quality : std::uint8_t { good, uncertain, bad };  // The worst is the largest.

enum class Saturation : std::uint8_t { none, low, high };

struct Reading {
  Quality quality{Quality::bad};
  Cause cause{Cause::never_read};
  Amount value{};                // Meaningless while bad.
  double uncertainty{0};         // Standard uncertainty, SI; 0 where not stated.
  Saturation saturated{Saturation::none};  // Counts as beyond every bound on its side.
  bool inferred{false};          // Not measured: carries that label everywhere.
  Instant oldest{}, newest{};    // Of its parts.

  bool has_number() const { return quality != Quality::bad && saturated == Saturation::none; }
};

}  // namespace standfast
