#include "tools/rehearse/module.hpp"

#include <utility>

namespace standfast::rehearse {

void Module::meet(const ModuleChange& change) {
  const auto output = static_cast<std::size_t>(change.output);
  switch (change.fault) {
    case ModuleFault::cable_pulled: cable_ = false; return;
    case ModuleFault::cable_back: cable_ = true; return;
    case ModuleFault::contact_welded: welded_[output] = true; return;
    case ModuleFault::contact_mended: welded_[output] = false; return;
    case ModuleFault::circuit_opened: opened_[output] = true; return;
    case ModuleFault::circuit_closed: opened_[output] = false; return;
    case ModuleFault::settings_changed: settings_ = false; return;
    case ModuleFault::settings_back: settings_ = true; return;
    case ModuleFault::mark_lost: mark_ = false; return;
    case ModuleFault::mark_back: mark_ = true; return;
    case ModuleFault::watchdog_stopped: watches_ = false; return;
    case ModuleFault::watchdog_runs: watches_ = true; return;
  }
}

bool Module::contact(std::size_t output) const {
  if (welded_[output]) return true;
  return written_.on[output] && !tripped_ && !opened_[output];
}

OutputReport Module::exchange(const OutputImage& wanted, bool withhold_heartbeat, Instant now) {
  OutputReport report{.at = now};
  const OutputModuleStatement& stated = *rig_.output_module;
  if (cable_ && !withhold_heartbeat) last_beat_ = now;
  const bool was_tripped = tripped_;
  tripped_ = watches_ && now - last_beat_ > stated.watchdog_at_most;
  // A watchdog that has tripped leaves its outputs off: they come back with the next write, not by themselves.
  if (tripped_ && !was_tripped) written_ = {};
  if (!cable_) {
    report.flaw = Flaw::no_answer;
    was_out_ = true;
    return report;
  }
  const auto raise = static_cast<std::size_t>(OutputKind::raise_permit);
  const bool kept = std::exchange(was_out_, false) && contact(raise) && !wanted.on[raise];  // Looked at before it is written off.
  written_ = wanted;
  report.written = wanted;
  report.facts = {.watchdog = stated.watchdog_at_most, .safe_values_as_stated = settings_, .power_on_values_as_stated = true,
                  .simulated = rig_.simulated == mark_};
  for (const Output& output : stated.outputs) {
    const auto k = static_cast<std::size_t>(output.kind);
    if (output.readback) report.readback[k] = contact(k);
  }
  if (kept) report.readback[raise] = true;
  return report;
}

}  // namespace standfast::rehearse
