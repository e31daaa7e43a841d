// Zeros of travel gauges: an offset of what is shown, proposed by two persons, approved by a third. A zero moves no limit:
// movement since the baseline and every mark count from readings as they are. Pressure is never zeroed.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "daemon/core/action.hpp"
#include "daemon/core/effect.hpp"
#include "daemon/core/refusal.hpp"

namespace standfast {

struct State;

struct Zero {
  std::optional<double> offset;   // m; what is shown is the reading less this. None: never zeroed.
  Instant taken_at{};
  std::string proposed_by, proposed_second;  // Empty: nothing is proposed.

  template <class A>
  void visit(A& a) {
    a("offset", offset);
    a("taken_at", taken_at);
    a("proposed_by", proposed_by);
    a("proposed_second", proposed_second);
  }
};

// The persons' authority has been found good. None: done.
std::optional<Refusal> propose_zero(State& state, const Action& action, std::vector<EffectRow>& rows);
std::optional<Refusal> approve_zero(State& state, const Action& action, std::vector<EffectRow>& rows);

}  // namespace standfast
