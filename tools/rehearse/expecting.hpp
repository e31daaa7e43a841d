// Holds what a rehearsal expects against what the engine says, instant by instant.
#pragma once

#include <vector>

#include "daemon/core/state.hpp"
#include "tools/rehearse/run.hpp"

namespace standfast::rehearse {

class Expecting {
 public:
  Expecting(const Prepared::Part& part, const State& state, Outcome& outcome);

  // The state as it stands counts for every instant from the last call up to `until`, which is not included: what is
  // expected at an instant is asked before anything that happens at that instant later in the file's own order.
  void before(Duration until, const Effects& effects);
  void answered(const PlannedAct& act, const Effects& effects);
  // What never had its turn has not been proved: it fails.
  void ended();

  std::int64_t picture() const { return state_.picture; }

 private:
  void check(std::size_t place, const Effects& effects, Duration at);
  void fail(const Expectation& expectation, Duration at, std::string what);
  void compare(const Expectation& expectation, Duration at, const std::string& what, const std::string& expected, const std::string& was);

  const Prepared::Part& part_;
  const State& state_;
  Outcome& outcome_;
  std::vector<bool> done_, failed_;
};

}  // namespace standfast::rehearse
