// Everything the core knows of values: channels, jacks, windows and references. One member of the engine's state.
#pragma once

#include <optional>
#include <vector>

#include "daemon/core/channel_value.hpp"
#include "daemon/core/quantity/creep.hpp"
#include "daemon/core/quantity/load.hpp"
#include "daemon/core/quantity/mark.hpp"
#include "daemon/core/quantity/rate.hpp"
#include "daemon/core/quantity/stiffness.hpp"
#include "daemon/core/unit_watch.hpp"

namespace standfast {

// A windowed quantity of the plan with what it remembers: of a rate one window for each gauge it reads, or one for the
// quantity itself where it is not linear in its gauges; of creep one for each gauge of the point.
struct Windowed {
  QuantityRef of;
  std::vector<SlopeWindow> slopes;
  std::vector<CreepWindow> creeps;
  std::optional<StiffnessWindow> stiffness;

  template <class A>
  void visit(A& a) {
    a("kind", of.kind);
    a("subjects", of.subjects);
    a("since", of.since);
    a("mark", of.mark);
    a("from_planned", of.from_planned);
    a("rate", of.rate);
    a("over", of.over);
    a("base", of.dimension.base);
    a("per", of.dimension.per);
    a("slopes", slopes);
    a("creeps", creeps);
    a("stiffness", stiffness);
  }
};

struct Values {
  std::vector<ChannelState> channels;
  std::vector<JackState> jacks;
  std::vector<Windowed> windowed;
  References references;
  UnitWatches watches;
  std::optional<Instant> oil_at;           // When oil was last known to flow.
  std::optional<Instant> pump_runs_since;  // None while it does not, or nobody knows.

  template <class A>
  void visit(A& a) {
    a("channels", channels);
    a("jacks", jacks);
    a("windowed", windowed);
    a("references", references);
    a("watches", watches);
    a("oil_at", oil_at);
    a("pump_runs_since", pump_runs_since);
  }
};

// Where the work stands, as far as a value depends on it.
struct Progress {
  std::optional<StageId> stage;
  std::optional<Instant> reached;  // Since when the load stands in the band of the step now due.
  bool oil_flows{false};           // By the pump's input, or inferred.
  std::optional<bool> pump_runs;   // By its input; none where that is not known.
  bool oil_may_leave{false};       // A permit to lower runs: a valve lets oil out while no pump runs.
  bool baseline_is_taken{false};   // It is being taken now.
};

// Which reading of a channel counts: STOP takes it as it is, everything else its median where the channel names one.
enum class Take : std::uint8_t { as_read, steadied };

struct ValueContext {
  const Job& job;
  const Values& values;
  Progress progress;
  Instant now;
  Take take{Take::as_read};
  // If given: what was read no later than this counts as it stood one reading earlier. A median is left as it is: no one
  // reading makes it.
  std::optional<Instant> apart_from{};
};

// A job comes into force: nothing read, no mark taken.
Values start_values(const Job& job);

// The same after another revision: channels, jacks, marks and windows keep what they know where name and definition are
// unchanged; the rest starts anew.
Values carry_over(const Values& before, const Job& old_job, const Job& job);

// A value that a person entered twice at `at`, of a channel that is read by hand, and the windows that it belongs to.
struct Entry { ChannelId channel; double si{0}; Instant at; };
void take_entry(Values& values, const Job& job, const Entry& entry, WallTime wall, const Progress& progress);

// One scan, in order: channels, steps, units, directions of the jacks, windows. `progress` as of now.
void take_scan(Values& values, const Job& job, const Scan& scan, TakenAt taken, const Progress& progress);

}  // namespace standfast
