// How the record spells each enumeration. These words are part of the format: one may be added, none changed.
#pragma once

#include <array>
#include <optional>
#include <string_view>

#include "config/ensure.hpp"
#include "config/rig.hpp"
#include "config/units.hpp"
#include "daemon/core/effect.hpp"
#include "daemon/core/event.hpp"

namespace standfast::record {

template <class Enum> struct Names;

template <> struct Names<Act> {
  static constexpr std::array<std::string_view, act_count> list{
      "stop", "acknowledge", "silence", "reset", "permit_give", "permit_end", "stage_enter", "stage_propose",
      "stage_approve", "stage_abandon", "stage_skip", "accept_uncertain", "prove_start", "prove_end", "zero_propose",
      "zero_approve", "swap_begin", "swap_prove", "swap_approve", "swap_abandon", "enter_note", "offer", "adopt", "shift_end",
      "enter_reading"};
};
template <> struct Names<Way> {
  static constexpr std::array<std::string_view, 4> list{"command_line", "panel", "key", "rehearsal"};
};
template <> struct Names<Role> {
  static constexpr std::array<std::string_view, 5> list{"technician", "supervisor", "engineer", "auditor", "surveyor"};
};
template <> struct Names<Flaw> {
  static constexpr std::array<std::string_view, flaw_count> list{
      "none", "not_connected", "no_answer", "late", "foreign", "malformed", "exception_refused", "exception_failed",
      "exception_busy", "exception_gateway", "garbled", "wrong_instrument", "line_in_use", "line_changed",
      "energised_by_another"};
};
template <> struct Names<RecordState> {
  static constexpr std::array<std::string_view, 3> list{"healthy", "lagging", "failed"};
};
template <> struct Names<Level> {
  static constexpr std::array<std::string_view, 4> list{"none", "review", "hold", "stop"};
};
template <> struct Names<AlarmState> {
  static constexpr std::array<std::string_view, alarm_state_count> list{
      "normal", "unacknowledged", "acknowledged", "returned_unacknowledged", "latched_unacknowledged",
      "latched_acknowledged", "out_of_service"};
};
template <> struct Names<PermitKind> {
  static constexpr std::array<std::string_view, 6> list{"none", "raise", "top_up", "lower", "recover", "commission"};
};
template <> struct Names<StageState> {
  static constexpr std::array<std::string_view, stage_state_count> list{
      "planned", "running", "observation", "criteria_met", "awaiting_approval", "approved", "closed", "abandoned",
      "skipped"};
};
template <> struct Names<Quality> {
  static constexpr std::array<std::string_view, 3> list{"good", "uncertain", "bad"};
};
template <> struct Names<Saturation> {
  static constexpr std::array<std::string_view, 3> list{"none", "low", "high"};
};
template <> struct Names<Base> {
  static constexpr std::array<std::string_view, base_count> list{
      "force", "pressure", "length", "area", "temperature", "temperature difference", "duration", "ratio", "current",
      "angle", "stiffness", "moment"};
};
template <> struct Names<standfast::Table> {
  static constexpr std::array<std::string_view, 4> list{"holding_register", "input_register", "coil", "discrete_input"};
};
template <> struct Names<RawType> {
  static constexpr std::array<std::string_view, 8> list{"uint16", "int16",  "uint32",  "int32",
                                                        "uint64", "int64", "float32", "float64"};
};
template <> struct Names<Order> {
  static constexpr std::array<std::string_view, 2> list{"big", "little"};
};

template <class Enum>
constexpr std::string_view name_of(Enum value) {
  const auto place = static_cast<std::size_t>(value);
  ENSURE(place < Names<Enum>::list.size());
  return Names<Enum>::list[place];
}

template <class Enum>
constexpr std::optional<Enum> named(std::string_view name) {
  for (std::size_t place = 0; place < Names<Enum>::list.size(); ++place)
    if (Names<Enum>::list[place] == name) return static_cast<Enum>(place);
  return std::nullopt;
}

}  // namespace standfast::record
