#include "daemon/core/quantity/stiffness.hpp"

#include <algorithm>
#include <cmath>

#include "daemon/core/doubt.hpp"
#include "daemon/core/statistics.hpp"

namespace standfast {
namespace {

constexpr std::size_t most_pairs = 32, least_pairs = 5;
constexpr double steps_apart = 5;
constexpr Dimension ratio_dimension{Base::ratio, Per::none}, metre{Base::length, Per::none};

struct Knot { double load{0}, travel{0}; };

std::optional<Knot> knot_of(const Step& step, JackId jack) {
  for (const Step::Predicted& predicted : step.predicted)
    for (const JackTarget& target : step.targets)
      if (predicted.jack == jack && target.jack == jack) return Knot{target.load.si(), predicted.travel.si()};
  return std::nullopt;
}

Predicted on_stretch(const Knot& a, const Knot& b, double load) {
  const double slope = (b.load - a.load) / (b.travel - a.travel);
  return {a.travel + (load - a.load) / (b.load - a.load) * (b.travel - a.travel), slope};
}

// `see(from, to)` answers whether the next one is wanted.
template <class See>
void for_each_stretch(const Plan& plan, JackId jack, See see) {
  Knot last;
  for (const Stage& stage : plan.stages)
    for (const Step& step : stage.steps) {
      const std::optional<Knot> knot = knot_of(step, jack);
      if (!knot || !(knot->load > last.load) || !(knot->travel > last.travel)) continue;
      if (!see(last, *knot)) return;
      last = *knot;
    }
}

Saturation either(Saturation a, Saturation b) { return a != Saturation::none ? a : b; }

}  // namespace

void StiffnessWindow::add(const Judged& load, const Reading& travel, double step, std::optional<StageId> now_in) {
  const auto number = now_in ? std::optional{now_in->number} : std::nullopt;
  if (number != stage) {
    stage = number;
    pairs.clear();
    pairs.reserve(most_pairs);
  }
  Merge merge{metre};
  merge.add(load);
  merge.add(travel);
  if (merge.bad()) return;
  if (!pairs.empty()) {
    const double apart = travel.value.si - pairs.back().travel;
    if (!exceeds({metre, apart < 0 ? -apart : apart}, {metre, steps_apart * step})) return;
  }
  if (pairs.size() == most_pairs) pairs.erase(pairs.begin());
  const Reading both = merge.sum({travel.value.si, travel.value.si}, 0).high;
  pairs.push_back({both.newest, load.high.value.si, travel.value.si, both.cause,
                   either(either(load.high.saturated, load.low.saturated), travel.saturated)});
}

Judged StiffnessWindow::ratio(std::optional<double> predicted_slope, Instant now) const {
  Merge merge{ratio_dimension};
  for (const LoadTravel& each : pairs) merge.add(reading_of({each.at, each.travel, each.doubt, each.saturated}));
  if (pairs.empty()) merge.add(bad_reading(Cause::filling, ratio_dimension, now));
  if (pairs.size() < least_pairs) return merge.none(Cause::filling);
  if (!predicted_slope) return merge.none(Cause::no_reference);
  const Line line = fit_line(pairs.size(), [&](std::size_t i) { return XY{pairs[i].travel, pairs[i].load}; });
  const double ratio = line.slope / *predicted_slope;
  return merge.either_side({ratio, ratio}, line.slope_error / *predicted_slope);
}

std::optional<Predicted> predicted_at(const Plan& plan, JackId jack, Force load) {
  std::optional<Predicted> result;
  for_each_stretch(plan, jack, [&](const Knot& from, const Knot& to) {
    result = on_stretch(from, to, load.si());
    return load.si() > to.load;
  });
  return result;
}

std::optional<double> stiffest_predicted(const Plan& plan, JackId jack) {
  std::optional<double> stiffest;
  for_each_stretch(plan, jack, [&](const Knot& from, const Knot& to) {
    stiffest = std::max(stiffest.value_or(0), on_stretch(from, to, to.load).slope);
    return true;
  });
  return stiffest;
}

Judged departure(const Judged& travel, const Judged& load, const Plan& plan, JackId jack) {
  Merge merge{metre};
  merge.add(travel);
  merge.add(load);
  if (merge.bad()) return merge.none(Cause::part_bad);
  const auto predicted = predicted_at(plan, jack, Force::from_si(load.high.value.si));
  if (!predicted) return merge.none(Cause::no_reference);
  const double of_travel = travel.high.uncertainty, of_load = load.high.uncertainty / predicted->slope;
  return merge.either_side({travel.high.value.si - predicted->travel, travel.low.value.si - predicted->travel},
                           std::sqrt(of_travel * of_travel + of_load * of_load));
}

}  // namespace standfast
