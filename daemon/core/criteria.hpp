// What must be true before the step or stage now running may be proposed for approval, one by one, with its facts.
#pragma once

#include <string>
#include <vector>

#include "daemon/core/state.hpp"

namespace standfast {

struct CriterionSeen {
  std::string name;
  bool met{false};
  std::string facts;  // What was seen; empty where the name says it all.
};

// Of the live stage: what its kind asks for, then the plan's own in their order. Only good, present evidence meets one.
std::vector<CriterionSeen> criteria_of(const State& state);
// The same without a word: whether all of them are met.
bool criteria_met(const State& state);
std::string facts_text(const std::vector<CriterionSeen>& criteria);

// Every jack of the step stands within its band of the target; a load that is bad, or in a doubt that nobody has accepted,
// stands nowhere.
bool all_in_band(const State& state, const Step& step);

// As it is compared, in its usual unit; for a bad value its cause; for facts and reading sets.
std::string value_text(const Reading& reading);

}  // namespace standfast
