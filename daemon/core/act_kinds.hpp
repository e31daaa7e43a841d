// Which acts make safe, which of them withdraw, and which loosen: one list of each for the engine, the service and the
// command line, so that none of them treats an act otherwise than the next.
#pragma once

#include <algorithm>
#include <iterator>
#include <string_view>

#include "daemon/core/action.hpp"

namespace standfast {

// Anybody's, and never refused for their form.
inline constexpr Act safe_acts[] = {Act::stop, Act::permit_end, Act::acknowledge, Act::silence};
// They take the permit; they overtake whatever else waits.
inline constexpr Act withdrawing_acts[] = {Act::stop, Act::permit_end};
// Refused where the picture they were decided on has moved on.
inline constexpr Act loosening_acts[] = {Act::reset,      Act::permit_give,      Act::stage_enter,  Act::stage_approve,
                                         Act::stage_skip, Act::accept_uncertain, Act::zero_propose, Act::zero_approve,
                                         Act::swap_begin, Act::swap_approve,     Act::adopt};
// The note that two persons enter before commissioning goes above its usual pressure: the one note that loosens.
inline constexpr std::string_view valves_note = "jack valves shut";

constexpr bool makes_safe(Act act) { return std::find(std::begin(safe_acts), std::end(safe_acts), act) != std::end(safe_acts); }
constexpr bool withdraws(Act act) {
  return std::find(std::begin(withdrawing_acts), std::end(withdrawing_acts), act) != std::end(withdrawing_acts);
}
// `object` is the act's own.
constexpr bool loosens(Act act, std::string_view object) {
  if (act == Act::enter_note) return object == valves_note;
  return std::find(std::begin(loosening_acts), std::end(loosening_acts), act) != std::end(loosening_acts);
}

}  // namespace standfast
