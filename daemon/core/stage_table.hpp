// The life of a stage, one total table: state by happening. A step of a stage runs through running, observation,
// criteria met, awaiting approval, approved; the next step begins at running again.
#pragma once

#include <array>
#include <cstdint>

#include "daemon/core/effect.hpp"

namespace standfast {

enum class StageHappening : std::uint8_t {
  entered,        // by a person
  reached,        // every load stands in the step's band
  left,           // a load has left the band for longer than is allowed
  met,            // observation over and every criterion true
  lost,           // a criterion is no longer true
  proposed, approved,
  next_step, last_step_done,
  abandoned, skipped,
};
inline constexpr int stage_happening_count = 11;

inline constexpr auto stage_table = [] {
  using enum StageState;
  constexpr auto P = planned, R = running, O = observation, M = criteria_met, W = awaiting_approval, V = approved,
                 C = closed, X = abandoned, S = skipped;
  return std::array<std::array<StageState, stage_happening_count>, stage_state_count>{{
      // entered reached left met lost proposed approved next last abandoned skipped
      {{R, P, P, P, P, P, P, P, P, P, S}},  // planned
      {{R, O, R, M, R, R, R, R, R, X, R}},  // running; `met` where the step has no target
      {{O, O, R, M, O, O, O, O, O, X, O}},  // observation
      {{M, M, R, M, O, W, M, M, M, X, M}},  // criteria met
      {{W, W, R, W, O, W, V, W, W, X, W}},  // awaiting approval
      {{V, V, V, V, V, V, V, R, C, V, V}},  // approved
      {{R, C, C, C, C, C, C, C, C, C, C}},  // closed; may be entered again, its marks stay
      {{R, X, X, X, X, X, X, X, X, X, S}},  // abandoned
      {{R, S, S, S, S, S, S, S, S, S, S}},  // skipped
  }};
}();
static_assert(stage_table.size() == stage_state_count && stage_table[0].size() == stage_happening_count);

constexpr StageState after(StageState state, StageHappening happening) {
  return stage_table[static_cast<std::size_t>(state)][static_cast<std::size_t>(happening)];
}

// A stage that has the site: its limits are in force.
constexpr bool is_live(StageState state) { return state >= StageState::running && state <= StageState::approved; }

}  // namespace standfast
