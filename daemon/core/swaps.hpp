// Swapping an instrument in the middle of the work: two persons begin, the new one is proved, an engineer approves. Until
// then the channel has no value. Movement since the baseline and every mark go on: the new numbers are joined to the old.
//
// Unlike a zero, which changes only what is shown, the join is part of the channel's value.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "daemon/core/action.hpp"
#include "daemon/core/effect.hpp"
#include "daemon/core/refusal.hpp"
#include "daemon/core/segment.hpp"

namespace standfast {

struct State;

// Act::swap_begin, swap_prove, swap_approve, swap_abandon; the persons' authority has been found good. None: done.
//   begin    value: `G-207`, or `G-207 due 2027-05-01`: the certificate (or serial number) of the new instrument
//   prove    value: `feeler 1.00 mm`; `dial 212 bar`; `moved 0.0 mm within 0.2 mm`, where no twin saw how far
std::optional<Refusal> swap(State& state, const Action& action, std::vector<EffectRow>& rows);

// A swap under way, for a person.
struct SwapSeen {
  std::string stands;  // What has been shown so far.
  std::string wants;   // What is to be done next.
};
SwapSeen swap_seen(const State& state, std::size_t place);

// After an act of a swap that was done: what comes next.
std::string words_with_swap(const State& state, const Action& action);

}  // namespace standfast
