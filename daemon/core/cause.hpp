// The dictionary of reasons: every state other than "within limits" carries one. The codes are part of the record.
#pragma once

#include <array>
#include <cstdint>
#include <string_view>

namespace standfast {

enum class Cause : std::uint8_t {
  none,
  // Why a value is bad: there is no number.
  never_read, stale, not_connected, no_answer, foreign_answer, malformed_answer, exception_refused, exception_failed,
  exception_busy, exception_gateway, garbled_answer, wrong_instrument, line_in_use, line_changed, being_swapped, overload, loop_low,
  loop_high, not_finite, unreadable_text, part_bad, skewed_bad, filling, mark_missing, no_reference,
  // Why a value is uncertain: there is a number and we doubt it. What calls for HOLD stands before what calls for REVIEW: of
  // two doubts a reading bears the one declared first.
  loop_over_range, outside_range, saturated_low, saturated_high, frozen, unit_frozen, twins_disagree, lone_step,
  loop_under_range, beyond_calibration, certificate_overdue, skewed, oil_flows, entry_overdue,
  // A remark on a value that is good.
  shared_transducer,
  // Why there is an alarm that no limit of the plan raised.
  limit, start_up, no_accepted_plan, record_unhealthy, giving_not_durable, queue_overflow, output_silent,
  output_circuit_open, output_stuck_on, output_energised_by_another, output_module_settings, simulation_mismatch, site_stop,
  called_stop, files_differ, proof_failed, engine_late, polls_failing, polls_unsent, bus_silent,
  // Why a permit ended or was refused.
  by_person, target_reached, criteria_met, band_left, stage_changed, plan_changed, not_needed, timed_out, signal_raised,
  reading_bad, shift_ended, bound_reached, proof_running, restarting,
};
inline constexpr int cause_count = static_cast<int>(Cause::restarting) + 1;

struct CauseEntry {
  Cause cause;
  std::string_view code;  // Stable; stands in the record and in --json.
  std::string_view text;  // For a person, lower case.
};
const CauseEntry& entry_of(Cause cause);

}  // namespace standfast
