// Where the job stands: which stage, which step, what the observation period has seen, who has approved.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "config/stages.hpp"
#include "daemon/core/effect.hpp"
#include "daemon/core/stage_table.hpp"

namespace standfast {

// A load may leave the step's band for so long before the observation period begins anew
// (common practice, no source: about ten seconds).
inline constexpr Duration out_of_band_allowed = seconds(10);

struct Approval {
  std::string name;
  Role role{};

  template <class A>
  void visit(A& a) {
    a("name", name);
    a("role", role);
  }
};

struct StageRun {
  std::vector<StageState> states;    // One for each stage of the plan.
  bool any{false};                   // False: no stage has been entered yet.
  std::uint16_t stage{0}, step{0};   // Of the newest entered.
  Instant entered_at{};
  std::optional<Instant> reached_at; // When every load first stood in the band of this step.
  bool was_reached{false};           // They did once, whatever has become of them since.
  Duration observed{};               // Time in the band since then,
  Instant observed_to{};             // accounted up to here;
  bool in_band{false};               // the time from there on belongs to this.
  std::optional<Instant> out_since;
  std::int32_t reading_sets{0};      // Taken in this step.
  std::vector<Approval> approvals;
  std::vector<std::string> entered;  // Subjects of the notes entered by hand in this stage.

  template <class A>
  void visit(A& a) {
    a("states", states);
    a("any", any);
    a("stage", stage);
    a("step", step);
    a("entered_at", entered_at);
    a("reached_at", reached_at);
    a("was_reached", was_reached);
    a("observed", observed);
    a("observed_to", observed_to);
    a("in_band", in_band);
    a("out_since", out_since);
    a("reading_sets", reading_sets);
    a("approvals", approvals);
    a("entered", entered);
  }
};

// The stage whose limits are in force: entered, and neither closed nor given up; else none.
const Stage* live_stage(const StageRun& run, const Plan& plan);
// The newest entered stage, live or not.
const Stage* newest_stage(const StageRun& run, const Plan& plan);
// The step now due in the live stage; none if it has none.
const Step* due_step(const StageRun& run, const Plan& plan);
StageState state_of(const StageRun& run);

// Kinds that this version brings to life; the others load, and are refused on entry.
bool is_in_this_version(StageKind kind);

// The observation period's account: time passes, a reading says whether all loads stand in the band.
void pass_time(StageRun& run, Instant now);
void see_band(StageRun& run, bool all_in_band, Instant now);
bool observation_over(const StageRun& run, const Step& step);
// When time alone ends the observation period, takes the next reading set or sends the step back to running.
std::optional<Instant> next_instant(const StageRun& run, const Step& step);

// Clears what belongs to one step; used when a step begins.
void begin_step(StageRun& run, Instant now);
// The same step, whose loads have left the band: reached it was.
void begin_observation_anew(StageRun& run, Instant now);

}  // namespace standfast
