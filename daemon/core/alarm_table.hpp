// The life of an alarm (names of IEC 62682, second-hand), one total table: state by happening. HOLD and STOP latch: they
// come back to normal only by a reset, which needs the condition gone and the alarm acknowledged.
#pragma once

#include <array>
#include <cstdint>

#include "daemon/core/effect.hpp"

namespace standfast {

enum class AlarmHappening : std::uint8_t {
  condition,     // it is there
  gone,          // it is no longer there; the level does not latch
  gone_latched,  // it is no longer there; the level latches
  acknowledged,
  reset,
  repeated,      // unresolved for the re-alarm time
  withdrawn,     // bypass
  returned,      // end of a bypass
};
inline constexpr int alarm_happening_count = 8;

// What each cell becomes. Where nothing changes the state stands again.
inline constexpr auto alarm_table = [] {
  using enum AlarmState;
  constexpr auto A = normal, B = unacknowledged, C = acknowledged, D = returned_unacknowledged,
                 E = latched_unacknowledged, F = latched_acknowledged, I = out_of_service;
  return std::array<std::array<AlarmState, alarm_happening_count>, alarm_state_count>{{
      // condition gone latched ack reset repeated withdrawn returned
      {{B, A, A, A, A, A, I, A}},  // A normal
      {{B, D, E, C, B, B, I, B}},  // B unacknowledged
      {{C, A, F, C, C, B, I, C}},  // C acknowledged
      {{B, D, D, A, D, D, I, D}},  // D returned, unacknowledged
      {{B, E, E, F, E, E, I, E}},  // E latched, unacknowledged
      {{B, F, F, F, A, F, I, F}},  // F latched, acknowledged
      {{I, I, I, I, I, I, I, A}},  // I out of service; back, the next evaluation decides
  }};
}();
static_assert(alarm_table.size() == alarm_state_count && alarm_table[0].size() == alarm_happening_count);

constexpr AlarmState after(AlarmState state, AlarmHappening happening) {
  return alarm_table[static_cast<std::size_t>(state)][static_cast<std::size_t>(happening)];
}

constexpr bool latches(Level level) { return level >= Level::hold; }

// Open: part of the signal. Out of service is listed, but signals nothing.
constexpr bool is_open(AlarmState state) { return state != AlarmState::normal && state != AlarmState::out_of_service; }
constexpr bool condition_present(AlarmState state) {
  return state == AlarmState::unacknowledged || state == AlarmState::acknowledged;
}

constexpr bool is_unacknowledged(AlarmState state) {
  return state == AlarmState::unacknowledged || state == AlarmState::returned_unacknowledged ||
         state == AlarmState::latched_unacknowledged;
}

}  // namespace standfast
