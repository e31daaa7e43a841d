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

  template <class A>
  void visit(A& a) {
    a("quality", quality);
    a("cause", cause);
    a("value", value);
    a("uncertainty", uncertainty);
    a("saturated", saturated);
    a("inferred", inferred);
    a("oldest", oldest);
    a("newest", newest);
  }

  bool has_number() const { return quality != Quality::bad && saturated == Saturation::none; }
};

// A quantity as limits see it. A point with two gauges is compared by its worst gauge in each direction: `above` looks at
// the highest that the evidence allows, `below` at the lowest.
struct Judged {
  Reading high, low;

  template <class A>
  void visit(A& a) {
    a("high", high);
    a("low", low);
  }
};

}  // namespace standfast
