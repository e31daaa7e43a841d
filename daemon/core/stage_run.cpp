#include "daemon/core/stage_run.hpp"

#include <algorithm>

namespace standfast {

StageState state_of(const StageRun& run) { return run.any ? run.states[run.stage] : StageState::planned; }

const Stage* newest_stage(const StageRun& run, const Plan& plan) { return run.any ? &plan.stages[run.stage] : nullptr; }

const Stage* live_stage(const StageRun& run, const Plan& plan) {
  return run.any && is_live(run.states[run.stage]) ? &plan.stages[run.stage] : nullptr;
}

const Step* due_step(const StageRun& run, const Plan& plan) {
  const Stage* stage = live_stage(run, plan);
  return stage && run.step < stage->steps.size() ? &stage->steps[run.step] : nullptr;
}

bool is_in_this_version(StageKind kind) {
  switch (kind) {
    case StageKind::commission: case StageKind::baseline: case StageKind::snug: case StageKind::raise: return true;
    case StageKind::rezero_travel: case StageKind::equalise: case StageKind::lock_off: case StageKind::pressure_down:
    case StageKind::lift_off_check: case StageKind::watch: case StageKind::cut: case StageKind::after_removal:
    case StageKind::transfer_back: return false;
  }
  return false;
}

void pass_time(StageRun& run, Instant now) {
  if (now <= run.observed_to) return;
  if (run.reached_at && run.in_band) run.observed = run.observed + (now - run.observed_to);
  run.observed_to = now;
}

void see_band(StageRun& run, bool all_in_band, Instant now) {
  pass_time(run, now);
  run.in_band = all_in_band;
  if (all_in_band) {
    run.out_since.reset();
    if (!run.reached_at) run.reached_at = now;
    run.was_reached = true;
  } else if (run.reached_at && !run.out_since) {
    run.out_since = now;
  }
}

bool observation_over(const StageRun& run, const Step& step) { return run.reached_at && run.observed >= step.observe; }

std::optional<Instant> next_instant(const StageRun& run, const Step& step) {
  if (!run.reached_at) return std::nullopt;
  std::optional<Instant> next;
  const auto consider = [&](Instant at) { next = next ? std::min(*next, at) : at; };
  if (run.in_band && run.observed < step.observe) consider(run.observed_to + (step.observe - run.observed));
  if (run.out_since) consider(*run.out_since + out_of_band_allowed);
  const auto sets = static_cast<std::size_t>(run.reading_sets);
  if (sets < step.read_at.size()) consider(*run.reached_at + step.read_at[sets]);
  return next;
}

void begin_step(StageRun& run, Instant now) {
  begin_observation_anew(run, now);
  run.was_reached = false;
}

void begin_observation_anew(StageRun& run, Instant now) {
  run.reached_at.reset();
  run.observed = {};
  run.observed_to = now;
  run.in_band = false;
  run.out_since.reset();
  run.reading_sets = 0;
  run.approvals.clear();
}

}  // namespace standfast
