// What holds between the stages of a plan: one baseline, steps that rise, moments that have come, points that are guarded.
#include <algorithm>
#include <map>

#include "config/bound_value.hpp"
#include "config/plan_draft.hpp"
#include "config/quoted.hpp"
#include "config/unit_text.hpp"

namespace standfast {

namespace {

constexpr Dimension force{Base::force, Per::none}, ratio{Base::ratio, Per::none};

bool refers_to(const std::optional<Bound>& bound, Reference reference) {
  return bound &&
         std::any_of(bound->terms.begin(), bound->terms.end(), [&](const Term& t) { return t.reference == reference; });
}

class StagesCheck {
 public:
  explicit StagesCheck(PlanDraft& draft) : draft_{draft}, complaints_{draft.complaints} {}

  void run() {
    complete_ = complaints_.errors() == 0;
    check_names();
    const bool kinds_known =
        std::all_of(draft_.stages.begin(), draft_.stages.end(), [](const StageDraft& s) { return s.kind_known; });
    if (!kinds_known) return;
    check_baseline();
    check_directions();
    for (std::size_t i = 0; i < draft_.stages.size(); ++i) check_stage(i);
    if (!complete_) return;
    check_guards();
    if (complaints_.errors() > 0) return;  // A target too high, say, would be told once more by every limit built on it.
    for (const StageDraft& stage : draft_.stages) check_limits(stage, draft_);
    check_capacity();
    check_unused();
    check_lines(draft_);
    check_waits(draft_);
    check_windows(draft_);
  }

 private:
  void check_names() {
    std::map<std::string_view, int> first;
    for (const StageDraft& stage : draft_.stages) {
      if (stage.stage.name.empty()) continue;
      const auto [other, is_new] = first.try_emplace(stage.stage.name, stage.spot.place.line);
      if (is_new) continue;
      complaints_.add(
          "E-name-twice", stage.spot,
          "stage " + quoted(stage.stage.name) + " is given twice; first at line " + std::to_string(other->second),
          {stage.stage.name, "a name of its own for each stage", {}});
    }
  }

  // Without any, that is said once, and not of every stage and limit that would have needed it.
  void check_baseline() {
    const bool has_baseline = std::any_of(draft_.stages.begin(), draft_.stages.end(),
                                          [](const StageDraft& stage) { return stage.stage.kind == StageKind::baseline; });
    for (std::size_t i = 0; i < draft_.stages.size(); ++i) {
      const StageDraft& stage = draft_.stages[i];
      if (stage.stage.kind == StageKind::baseline) {
        if (baseline_ != none)
          complaints_.add("E-baseline", stage.spot, "a second stage of kind baseline", {{}, "one baseline", {}});
        else baseline_ = i;
      } else if (has_baseline && baseline_ == none && stage.stage.kind != StageKind::commission) {
        complaints_.add("E-baseline", stage.spot, "this stage comes before the baseline is taken",
                        {{}, "commission and baseline before it", {}});
      }
    }
    if (baseline_ != none) return;
    complaints_.add("E-baseline", draft_.stages.front().spot, "the plan has no stage of kind baseline",
                    {{}, "a stage 'kind: baseline'", {}});
  }

  // Steps rise within a stage and from stage to stage while the column is being relieved; they fall within a stage that
  // lets the pressure down.
  void check_directions() {
    double before = 0;
    for (const StageDraft& stage : draft_.stages) {
      const StepsWanted wanted = entry_of(stage.stage.kind).steps;
      if (wanted == StepsWanted::rising) before = check_rising(stage, before);
      if (wanted == StepsWanted::falling) check_falling(stage);
    }
  }

  double check_rising(const StageDraft& stage, double before) {
    for (const Step& step : stage.stage.steps) {
      if (!exceeds({ratio, step.percent.si()}, {ratio, before}))
        complain_direction(step, "does not lie above the step before it");
      before = std::max(before, step.percent.si());
    }
    return before;
  }

  void check_falling(const StageDraft& stage) {
    for (std::size_t i = 1; i < stage.stage.steps.size(); ++i) {
      const Step& step = stage.stage.steps[i];
      if (!exceeds({ratio, stage.stage.steps[i - 1].percent.si()}, {ratio, step.percent.si()}))
        complain_direction(step, "does not lie below the step before it");
    }
  }

  void complain_direction(const Step& step, const std::string& what) {
    if (!complete_ && step.targets.empty()) return;  // Its load was complained about.
    complaints_.add("E-steps", {step.place, 1}, "step " + quoted(step.name) + " " + what,
                    {step.name, "steps that rise up to the transfer, and fall when pressure is let down", {}});
  }

  void check_stage(std::size_t number) {
    const StageDraft& stage = draft_.stages[number];
    std::map<std::string_view, int> first;
    for (const DraftLimit& limit : stage.limits) {
      const auto [other, is_new] = first.try_emplace(limit.limit.name, limit.spot.place.line);
      if (!is_new) {
        complaints_.add("E-name-twice", limit.spot,
                        "stage " + quoted(stage.stage.name) + " has two limits called " + quoted(limit.limit.name) +
                            "; the other is at line " + std::to_string(other->second),
                        {limit.limit.name, "a 'name' for one of them", {}});
      }
      check_quantity(limit.limit.of, limit.spot, number);
      if (limit.limit.when) check_quantity(limit.limit.when->of, limit.spot, number);
      check_target_of(limit, stage.stage);
    }
    for (const Criterion& criterion : stage.stage.proceed_when) {
      if (criterion.kind != Criterion::Kind::quantity) continue;
      check_quantity(criterion.of, {criterion.place, 1}, number);
      check_target(criterion.above, criterion.of, {criterion.place, 1}, stage.stage);
      check_target(criterion.below, criterion.of, {criterion.place, 1}, stage.stage);
    }
    check_targets(stage);
  }

  // Has the moment come, and is there what the quantity is compared with?
  void check_quantity(const QuantityRef& of, Spot spot, std::size_t number) {
    const Stage& stage = draft_.stages[number].stage;
    const bool takes_moment = entry_of(of.kind).takes_since && !of.rate;
    if (takes_moment && of.since == Since::baseline && baseline_ != none && number <= baseline_)
      complain_moment(spot, "the baseline", stage);
    if (takes_moment && of.since == Since::lock_off && !locked_off_before(number))
      complain_moment(spot, "lock-off", stage);
    if (takes_moment && of.since == Since::mark && draft_.plan.marks[of.mark].taken_in.at() > number)
      complain_moment(spot, "mark " + draft_.plan.marks[of.mark].name, stage);
    if (of.kind == QuantityKind::creep && stage.steps.empty() && complete_)
      complain_need(
          spot, "creep counts from the moment a step is reached, and stage " + quoted(stage.name) + " has no steps");
    const bool predicted = of.kind == QuantityKind::predicted_departure || of.kind == QuantityKind::stiffness_ratio;
    if (predicted && complete_ && !has_prediction(stage, JackId{of.subjects.front()}))
      complain_need(spot, "a step of stage " + quoted(stage.name) + " predicts no travel of jack " +
                              draft_.rig.jacks[of.subjects.front()].name);
  }

  void complain_moment(Spot spot, const std::string& moment, const Stage& stage) {
    complaints_.add("E-since-order", spot, moment + " has not been taken by stage " + quoted(stage.name),
                    {{}, "a moment before this stage", {}});
  }

  void complain_need(Spot spot, std::string message) {
    complaints_.add("E-quantity", spot, std::move(message), {{}, "a stage in which this quantity exists", {}});
  }

  bool locked_off_before(std::size_t number) const {
    const auto end = draft_.stages.begin() + static_cast<long>(number);
    return std::any_of(draft_.stages.begin(), end,
                       [](const StageDraft& s) { return s.stage.kind == StageKind::lock_off; });
  }

  static bool has_prediction(const Stage& stage, JackId jack) {
    return !stage.steps.empty() && std::all_of(stage.steps.begin(), stage.steps.end(), [&](const Step& step) {
      return std::any_of(step.predicted.begin(), step.predicted.end(),
                         [&](const Step::Predicted& p) { return p.jack == jack; });
    });
  }

  void check_target_of(const DraftLimit& limit, const Stage& stage) {
    for (const auto* level : {&limit.limit.review, &limit.limit.hold, &limit.limit.stop}) {
      if (!*level) continue;
      check_target((*level)->above, limit.limit.of, limit.spot, stage);
      check_target((*level)->below, limit.limit.of, limit.spot, stage);
    }
    if (!limit.limit.when) return;
    check_target(limit.limit.when->above, limit.limit.when->of, limit.spot, stage);
    check_target(limit.limit.when->below, limit.limit.when->of, limit.spot, stage);
  }

  // A target that a jack does not have would count as none, and trip at once or never.
  void check_target(const std::optional<Bound>& bound, const QuantityRef& of, Spot spot, const Stage& stage) {
    if (!complete_ || !refers_to(bound, Reference::target)) return;
    const auto moves = [](const Step& step, JackId jack) {
      return std::any_of(step.targets.begin(), step.targets.end(), [&](const JackTarget& t) { return t.jack == jack; });
    };
    for (JackId jack : jacks_of(of, draft_.rig)) {
      const bool always = !stage.steps.empty() && std::all_of(stage.steps.begin(), stage.steps.end(),
                                                              [&](const Step& step) { return moves(step, jack); });
      if (always) continue;
      complaints_.add("E-bound-reference", spot,
                      "jack " + draft_.rig.jacks[jack.at()].name + " has no target in stage " + quoted(stage.name),
                      {{}, "'full target', or a stage whose steps move that jack", {}});
    }
  }

  void check_targets(const StageDraft& stage) {
    for (const Step& step : stage.stage.steps) {
      for (const JackTarget& target : step.targets) {
        const Jack& jack = draft_.rig.jacks[target.jack.at()];
        const double reach = draft_.rig.channels[jack.advance.at()].range_high * jack.area.si();
        const double most = std::min(jack.rated.si(), reach);
        if (!exceeds({force, target.load.si()}, {force, most})) continue;
        complaints_.add("E-target", {step.place, 1},
                        "jack " + jack.name + " would stand at " + amount_text({force, target.load.si()}, "kN", 1) +
                            ", and " + (reach < jack.rated.si() ? "its transducer ends at " : "is rated ") +
                            amount_text({force, most}, "kN", 1),
                        {step.name, "a target below the rating and within the transducer's range", {}});
      }
    }
  }

  void check_guards() {
    for (std::size_t i = baseline_ + 1; i < draft_.stages.size(); ++i) {
      for (std::size_t point = 0; point < draft_.rig.points.size(); ++point) check_guard(draft_.stages[i], point);
    }
  }

  void check_guard(const StageDraft& stage, std::size_t point) {
    const auto guards = [&](const DraftLimit& draft) {
      const QuantityRef& of = draft.limit.of;
      return of.kind == QuantityKind::movement && !of.rate && of.since == Since::baseline &&
             of.subjects.front() == point && draft.limit.stop;
    };
    if (std::any_of(stage.limits.begin(), stage.limits.end(), guards)) return;
    complaints_.add(
        "E-unguarded", stage.spot,
        "nothing stops stage " + quoted(stage.stage.name) + " when point " + draft_.rig.points[point].name + " moves",
        {{}, "a limit 'of: movement " + draft_.rig.points[point].name + "', 'since: baseline', with a 'stop'", {}});
  }

  // Of each jack once: where it is loaded most.
  void check_capacity() {
    for (std::size_t j = 0; j < draft_.rig.jacks.size(); ++j) {
      const JackTarget* most = nullptr;
      const Step* at = nullptr;
      for (const StageDraft& stage : draft_.stages) {
        for (const Step& step : stage.stage.steps) {
          for (const JackTarget& target : step.targets) {
            if (target.jack.at() != j || (most != nullptr && target.load <= most->load)) continue;
            most = &target;
            at = &step;
          }
        }
      }
      if (most != nullptr) warn_capacity(draft_.rig.jacks[j], most->load.si(), {at->place, 1});
    }
  }

  void warn_capacity(const Jack& jack, double load, Spot spot) {
    const double rated = jack.rated.si();
    const double high = load * draft_.plan.column_high.si() / draft_.plan.column_expected.si();
    const auto share = [&](double part) { return amount_text({ratio, part / rated}, "%", 1); };
    if (exceeds({force, load}, {force, 0.75 * rated})) {
      complaints_.add("W-capacity-planned", spot,
                      "jack " + jack.name + " is planned to stand at " + share(load) + " of its rating",
                      {{}, "at most 75 %", {}});
    }
    if (exceeds({force, high}, {force, 0.8 * rated})) {
      complaints_.add("W-capacity-high", spot,
                      "jack " + jack.name + " would stand at " + share(high) + " of its rating under the high estimate",
                      {{}, "at most 80 %", {}});
    }
  }

  void check_unused() {
    for (const LimitSet& set : draft_.limit_sets) {
      if (!set.used)
        complaints_.add("W-unused", set.spot, "no stage uses limit set " + set.name,
                        {set.name, "a stage that names it in 'limit_sets'", {}});
    }
  }

  static constexpr std::size_t none = SIZE_MAX;
  PlanDraft& draft_;
  Complaints& complaints_;
  std::size_t baseline_{none};
  bool complete_{false};  // All was read; nothing is missing because it was complained about.
};

}  // namespace

void check_stages(PlanDraft& draft) {
  if (!draft.stages.empty()) StagesCheck{draft}.run();
}

}  // namespace standfast
