// One act of a person, complete: what, who, in which role, by which way, with whom, having seen what, and why.
// It is kept as text because it is evidence: the record shows exactly what was asked, refused requests included.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "config/stages.hpp"

namespace standfast {

enum class Act : std::uint8_t {
  stop,             // reason
  acknowledge,      // object: alarm number, or "all"
  silence,          // value: duration, at most 120 s
  reset,            // object: alarm number or "all"; reason
  permit_give,      // object: raise, top-up, lower, commission, recover; value: circuits / bound (see permit.hpp)
  permit_end,
  stage_enter,      // object: stage name
  stage_propose,    // the step or stage now running
  stage_approve,
  stage_abandon,    // reason
  stage_skip,       // object: stage name; reason
  accept_uncertain, // object: channel; the engineer accepts it by name; reason
  prove_start,      // object: proof name
  prove_end,        // object: sounder; value: heard, not heard
  zero_propose,     // object: channel
  zero_approve,     // object: channel
  swap_begin,       // object: channel; value: certificate of the new instrument (see swaps.hpp)
  swap_prove,       // object: channel; value: feeler, dial or moved, and an amount
  swap_approve,     // object: channel
  swap_abandon,     // object: channel; reason
  enter_note,       // object: subject; value: text
  offer,            // object: file kind (rig, stages); value: SHA-256
  adopt,            // value: revision SHA-256
  shift_end,
  enter_reading,    // object: channel read by hand; value: the amount, twice (see by_hand.hpp)
};
inline constexpr int act_count = static_cast<int>(Act::enter_reading) + 1;

enum class Way : std::uint8_t { command_line, panel, key, rehearsal };

struct PersonClaim {
  std::string name;   // Empty where the act needs none.
  Role role{Role::technician};
};

struct Action {
  Act what{};
  std::string object, value, reason;
  PersonClaim person, second;
  Way way{Way::command_line};
  std::int64_t peer_uid{-1};  // Of the Unix peer; -1 unknown.
  bool verified{false};       // False: the names are claims ("not verified").
  std::int64_t seen{0};       // State::picture the person had on show; acts that loosen are refused when it has moved on.
};

}  // namespace standfast
