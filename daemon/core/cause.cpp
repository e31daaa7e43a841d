#include "daemon/core/cause.hpp"

#include "config/ensure.hpp"

namespace standfast {
namespace {

constexpr std::array<CauseEntry, cause_count> entries{{
    {Cause::none, "none", ""},

    {Cause::never_read, "never-read", "nothing has been read yet"},
    {Cause::stale, "stale", "the last answer is too old"},
    {Cause::not_connected, "not-connected", "no connection to the instrument"},
    {Cause::no_answer, "no-answer", "the instrument does not answer"},
    {Cause::foreign_answer, "foreign-answer", "an answer came that belongs to another request"},
    {Cause::malformed_answer, "malformed-answer", "the answer has the wrong form, or came later than slowest_answer"},
    {Cause::exception_refused, "exception-refused", "the instrument refuses what rig.yaml asks of it"},
    {Cause::exception_failed, "exception-failed", "the instrument reports a fault of its own"},
    {Cause::exception_busy, "exception-busy", "the instrument is busy"},
    {Cause::exception_gateway, "exception-gateway", "the gateway does not reach the instrument"},
    {Cause::garbled_answer, "garbled-answer", "what comes is garbled: wiring, baud rate or parity"},
    {Cause::wrong_instrument, "wrong-instrument", "this is not the instrument that rig.yaml names"},
    {Cause::line_in_use, "line-in-use", "another program holds the serial line"},
    {Cause::line_changed, "line-changed", "another program changed the settings of the serial line"},
    {Cause::being_swapped, "being-swapped", "its instrument was taken out, and no other one is approved"},
    {Cause::overload, "overload", "the instrument says that it is overloaded"},
    {Cause::loop_low, "loop-low", "the current is at or below 3.6 mA: loop broken or instrument failed"},
    {Cause::loop_high, "loop-high", "the current is at or above 21 mA: loop shorted or instrument failed"},
    {Cause::not_finite, "not-finite", "the answer is not a usable number"},
    {Cause::unreadable_text, "unreadable-text", "the line cannot be read as a number"},
    {Cause::part_bad, "part-bad", "a part of it has no value"},
    {Cause::skewed_bad, "skewed-bad", "its parts were read too far apart in time"},
    {Cause::filling, "filling", "its window is still filling"},
    {Cause::mark_missing, "mark-missing", "the mark it counts from has not been taken"},
    {Cause::no_reference, "no-reference", "there is nothing to compare it with"},

    {Cause::loop_over_range, "loop-over-range", "the current is between 20.5 and 21 mA"},
    {Cause::outside_range, "outside-range", "the value is outside the stated range"},
    {Cause::saturated_low, "saturated-low", "the value is off the low end of the range"},
    {Cause::saturated_high, "saturated-high", "the value is off the high end of the range"},
    {Cause::frozen, "frozen", "it stands still while a partner moves"},
    {Cause::unit_frozen, "unit-frozen", "its unit answers, and all its channels stand still that flickered"},
    {Cause::twins_disagree, "twins-disagree", "the gauges of the point disagree"},
    {Cause::lone_step, "lone-step", "it stepped, and nothing else did"},
    {Cause::loop_under_range, "loop-under-range", "the current is between 3.6 and 3.8 mA"},
    {Cause::beyond_calibration, "beyond-calibration", "the pressure is beyond the last calibration point"},
    {Cause::certificate_overdue, "certificate-overdue", "the calibration certificate is overdue"},
    {Cause::skewed, "skewed", "its parts were read at different times"},
    {Cause::oil_flows, "oil-flows", "the pressure is taken at the pump while oil flows"},
    {Cause::entry_overdue, "entry-overdue", "it is due to be read by hand and entered again"},
    {Cause::shared_transducer, "shared-transducer", "several jacks share one transducer"},

    {Cause::limit, "limit", "beyond its limit"},
    {Cause::start_up, "start-up", "started: nobody has looked yet"},
    {Cause::no_accepted_plan, "no-accepted-plan", "no accepted plan"},
    {Cause::record_unhealthy, "record-unhealthy", "the record is not being written"},
    {Cause::giving_not_durable, "giving-not-durable", "a permission was not on disk in time"},
    {Cause::queue_overflow, "queue-overflow", "readings were lost: too many at once"},
    {Cause::output_silent, "output-silent", "the output module does not answer"},
    {Cause::output_circuit_open, "output-circuit-open", "an output is commanded on and reads off"},
    {Cause::output_stuck_on, "output-stuck-on", "an output is commanded off and reads on"},
    {Cause::output_energised_by_another, "output-energised-by-another", "an output that was written off stood on: another hand"},
    {Cause::output_module_settings, "output-module-settings", "the output module is not set as stated"},
    {Cause::simulation_mismatch, "simulation-mismatch", "the rig and the output module differ on being simulated"},
    {Cause::site_stop, "site-stop", "the stop on site was pressed"},
    {Cause::called_stop, "called-stop", "a person called stop"},
    {Cause::files_differ, "files-differ", "a file on disk is not the one in force"},
    {Cause::proof_failed, "proof-failed", "a proof failed"},
    {Cause::engine_late, "engine-late", "decisions came late"},
    {Cause::polls_failing, "polls-failing", "more than 1 % of its polls failed in ten minutes"},
    {Cause::polls_unsent, "polls-unsent", "more than 1 % of its polls were not sent in ten minutes: line full, or machine late"},
    {Cause::bus_silent, "bus-silent", "nothing on it answers"},

    {Cause::by_person, "by-person", "ended by a person"},
    {Cause::target_reached, "target-reached", "the step's load is reached"},
    {Cause::criteria_met, "criteria-met", "the step has met all that the plan asks of it"},
    {Cause::band_left, "band-left", "a load has left the step's band"},
    {Cause::stage_changed, "stage-changed", "the stage changed"},
    {Cause::plan_changed, "plan-changed", "another revision came into force"},
    {Cause::not_needed, "not-needed", "it is not needed"},
    {Cause::timed_out, "timed-out", "its time ran out"},
    {Cause::signal_raised, "signal-raised", "the signal rose"},
    {Cause::reading_bad, "reading-bad", "a reading it needs has no value"},
    {Cause::shift_ended, "shift-ended", "the giver's shift ended"},
    {Cause::bound_reached, "bound-reached", "its bound is reached"},
    {Cause::proof_running, "proof-running", "a proof runs"},
    {Cause::restarting, "restarting", "the daemon ended out of order three times within ten minutes"},
}};

constexpr bool complete() {
  for (int i = 0; i < cause_count; ++i) {
    const CauseEntry& entry = entries[static_cast<std::size_t>(i)];
    if (static_cast<int>(entry.cause) != i || entry.code.empty()) return false;
  }
  return true;
}
static_assert(complete(), "each cause stands in the table once, in the order of declaration");

}  // namespace

const CauseEntry& entry_of(Cause cause) {
  const auto place = static_cast<std::size_t>(cause);
  ENSURE(place < entries.size());
  return entries[place];
}

}  // namespace standfast
