// What the output module says, held against what was written. Absence of an answer is a condition, never fine.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "daemon/core/alarms.hpp"
#include "daemon/core/event.hpp"

namespace standfast {

// An exchange that failed is tried again; when all have failed for this long, the module counts as silent,
inline constexpr Duration output_silent_after = seconds(1);
// and likewise when its thread has reported nothing at all for this long (it reports once a second, changed or not).
inline constexpr Duration output_lost_after = milliseconds(2500);
// So many read-backs in a row must differ before a mismatch counts.
inline constexpr int differing_to_count = 2;

struct OutputWatch {
  bool answered_once{false};         // Until then nothing is known, and no permit is given.
  Instant last_report{};             // Or since when one is waited for.
  std::optional<Instant> failing_since;  // The first failed exchange since the last good one.
  OutputImage written{};
  std::array<std::optional<bool>, output_count> readback{};
  ModuleFacts facts{};
  std::array<Instant, output_count> written_since{};  // When the written state last changed.
  std::array<std::int32_t, output_count> differing{};
  bool energised_by_another{false};  // Found in the newest exchange.

  template <class A>
  void visit(A& a) {
    a("answered_once", answered_once);
    a("last_report", last_report);
    a("failing_since", failing_since);
    a("written", written.on);
    a("readback", readback);
    a("watchdog", facts.watchdog);
    a("safe_values", facts.safe_values_as_stated);
    a("power_on_values", facts.power_on_values_as_stated);
    a("simulated", facts.simulated);
    a("written_since", written_since);
    a("differing", differing);
    a("energised_by_another", energised_by_another);
  }
};

void take(OutputWatch& watch, const OutputReport& report, Duration settle);

bool is_silent(const OutputWatch& watch, Instant now);
// When it becomes silent if nothing comes; none while it is silent already.
std::optional<Instant> silent_at(const OutputWatch& watch, Instant now);

// What of the module's own settings is not as the rig states (a watchdog that runs, safe and power-on values), each by its
// register: `output module register 40`; of several that are read together all are named. None: as stated.
std::vector<std::string> settings_not_as_stated(const OutputWatch& watch, const OutputModuleStatement& module);

// Silence, mismatches, another's hand, wrong settings, a simulated module on a real rig or the other way round.
void add_conditions(const OutputWatch& watch, const Rig& rig, bool site_stop_called, Instant now,
                    std::vector<Condition>& conditions);

}  // namespace standfast
