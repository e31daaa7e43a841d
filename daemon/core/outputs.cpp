#include "daemon/core/outputs.hpp"

#include <algorithm>
#include <utility>

namespace standfast {
namespace {

constexpr std::array<std::string_view, output_count> names{"raise permit", "lower permit", "stop relay", "sounder",
                                                           "beacon", "call out", "heartbeat"};

void compare(OutputWatch& watch, std::size_t k, Instant at, Duration settle) {
  const bool differs = watch.readback[k] && *watch.readback[k] != watch.written.on[k];
  if (!differs || at - watch.written_since[k] < settle) {
    watch.differing[k] = 0;
  } else if (watch.differing[k] < differing_to_count) {
    ++watch.differing[k];
  }
}

void add_mismatches(const OutputWatch& watch, bool site_stop_called, std::vector<Condition>& conditions) {
  for (std::size_t k = 0; k < output_count; ++k) {
    const auto add = [&](Cause cause, Level level) {
      conditions.push_back({.subject = "output " + std::string(names[k]), .cause = cause, .level = level});
    };
    // A contact may bounce, a coil does not: once is enough.
    if (watch.energised_by_another && !watch.written.on[k] && watch.readback[k] == true)
      add(Cause::output_energised_by_another, Level::hold);
    if (watch.differing[k] < differing_to_count) continue;
    if (watch.written.on[k]) add(site_stop_called ? Cause::site_stop : Cause::output_circuit_open, Level::hold);
    else add(Cause::output_stuck_on, Level::stop);
  }
}

std::vector<int> addresses(const std::vector<ModuleRegister>& registers) {
  std::vector<int> all;
  for (const ModuleRegister& each : registers) all.push_back(each.address);
  return all;
}

std::string registers_text(const std::vector<int>& registers) {
  std::string text = registers.size() == 1 ? "output module register" : "output module registers";
  for (const int address : registers) text += ' ' + std::to_string(address);
  return text;
}

}  // namespace

void take(OutputWatch& watch, const OutputReport& report, Duration settle) {
  watch.last_report = report.at;
  watch.energised_by_another = report.flaw == Flaw::energised_by_another;
  if (!report.answered()) {
    if (!watch.failing_since) watch.failing_since = report.at;
    return;
  }
  const bool first = !std::exchange(watch.answered_once, true);  // What stood before is not known: contacts settle from here.
  watch.failing_since.reset();
  watch.facts = report.facts;
  for (std::size_t k = 0; k < output_count; ++k) {
    if (first || watch.written.on[k] != report.written.on[k]) watch.written_since[k] = report.at;
    watch.written.on[k] = report.written.on[k];
    watch.readback[k] = report.readback[k];
    if (k != static_cast<std::size_t>(OutputKind::heartbeat)) compare(watch, k, report.at, settle);
  }
}

bool is_silent(const OutputWatch& watch, Instant now) {
  if (now - watch.last_report >= output_lost_after) return true;
  return watch.failing_since && now - *watch.failing_since >= output_silent_after;
}

std::optional<Instant> silent_at(const OutputWatch& watch, Instant now) {
  if (is_silent(watch, now)) return std::nullopt;
  const Instant lost = watch.last_report + output_lost_after;
  return watch.failing_since ? std::min(lost, *watch.failing_since + output_silent_after) : lost;
}

std::vector<std::string> settings_not_as_stated(const OutputWatch& watch, const OutputModuleStatement& module) {
  std::vector<std::string> wrong;
  const auto& watchdog = watch.facts.watchdog;
  if (!watchdog || *watchdog <= Duration{} || *watchdog > module.watchdog_at_most)
    wrong.push_back(module.watchdog_register ? registers_text({*module.watchdog_register}) : "output module watchdog");
  if (!watch.facts.safe_values_as_stated)
    wrong.push_back(module.safe_values.empty() ? "output module values on watchdog" : registers_text(addresses(module.safe_values)));
  if (!watch.facts.power_on_values_as_stated)
    wrong.push_back(module.power_on_values.empty() ? "output module values at power-on"
                                                   : registers_text(addresses(module.power_on_values)));
  return wrong;
}

void add_conditions(const OutputWatch& watch, const Rig& rig, bool site_stop_called, Instant now,
                    std::vector<Condition>& conditions) {
  if (!rig.output_module) {
    conditions.push_back({.subject = "output module", .cause = Cause::output_silent, .level = Level::hold});
    return;
  }
  add_mismatches(watch, site_stop_called, conditions);
  if (is_silent(watch, now)) {
    conditions.push_back({.subject = "output module", .cause = Cause::output_silent, .level = Level::hold});
    return;
  }
  if (!watch.answered_once) return;
  for (std::string& setting : settings_not_as_stated(watch, *rig.output_module))
    conditions.push_back({.subject = std::move(setting), .cause = Cause::output_module_settings, .level = Level::hold});
  if (watch.facts.simulated != rig.simulated)
    conditions.push_back({.subject = "simulation mark", .cause = Cause::simulation_mismatch, .level = Level::hold});
}

}  // namespace standfast
