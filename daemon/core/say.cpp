#include "daemon/core/say.hpp"

namespace standfast {
namespace {

constexpr std::string_view stop_line = "All clear of the load. Touch nothing. Call the engineer.";
constexpr std::string_view review_line = "Look at it, note it, acknowledge.";

std::string_view hold_line(StageKind kind) {
  switch (kind) {
    case StageKind::commission: case StageKind::baseline: case StageKind::rezero_travel:
      return "Stop. Find the cause before going on.";
    case StageKind::snug: case StageKind::raise: case StageKind::equalise: case StageKind::lift_off_check:
    case StageKind::transfer_back:
      return "Stop pumping. Keep pressure. Stand back.";
    case StageKind::lock_off: return "Keep pressure. Leave the packing. Stand back.";
    case StageKind::pressure_down: return "Stop lowering. Keep pressure. Stand back.";
    case StageKind::watch: case StageKind::after_removal: return "Stand back. Keep pressure. Call the supervisor.";
    case StageKind::cut: return "Stop cutting. Stand back. Keep pressure.";
  }
  return "Stop pumping. Keep pressure. Stand back.";
}

}  // namespace

std::string_view line_for_limit(std::optional<StageKind> kind, Level level) {
  switch (level) {
    case Level::none: return "";
    case Level::review: return review_line;
    case Level::hold: return hold_line(kind.value_or(StageKind::raise));
    case Level::stop: return stop_line;
  }
  return stop_line;
}

std::string_view line_for_cause(Cause cause, Level level) {
  if (cause == Cause::output_stuck_on) return "Cut the pump's power by hand. All clear of the load.";
  if (level == Level::stop) return stop_line;
  if (level == Level::review) return review_line;
  switch (cause) {
    case Cause::output_energised_by_another: return "Switch the pump off by hand. Keep pressure. Find who writes the module.";
    case Cause::start_up: return "Keep pressure. Look at every reading before the reset.";
    case Cause::restarting: return "Keep pressure. The daemon does not stay up: read the machine's log before the reset.";
    case Cause::no_accepted_plan: return "No plan in force. Offer and adopt one.";
    case Cause::record_unhealthy: case Cause::giving_not_durable: return "Stop pumping. Keep pressure. See to the disk.";
    case Cause::output_silent: case Cause::output_circuit_open: case Cause::output_module_settings:
    case Cause::simulation_mismatch:
      return "Stop pumping. Keep pressure. See to the output module.";
    case Cause::wrong_instrument: return "Stop pumping. Keep pressure. It is another instrument.";
    case Cause::engine_late: return "Stop pumping. Keep pressure. The machine was too busy.";
    case Cause::proof_failed: return "Stop pumping. Keep pressure. Mend what failed, prove it again.";
    case Cause::lone_step: return "Stop pumping. Keep pressure. Check the gauge and its stand by hand.";
    case Cause::site_stop: return "Site stop is pressed. Stand back. Keep pressure.";
    default: return "Stop pumping. Keep pressure. See to the instrument.";
  }
}

}  // namespace standfast
