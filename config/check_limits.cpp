// Do the limits of a stage make sense beside each other, and can the instruments tell when they are passed?
#include <algorithm>
#include <limits>

#include "config/bound_value.hpp"
#include "config/plan_draft.hpp"
#include "config/unit_text.hpp"

namespace standfast {

namespace {

struct Reach {
  double least, most;  // SI
};
constexpr Reach everything{-std::numeric_limits<double>::infinity(), std::numeric_limits<double>::infinity()};

Reach either_way(double width) { return {-width, width}; }

double width_of(const Channel& channel) { return channel.range_high - channel.range_low; }

double width_of(const Point& point, const Rig& rig) {
  double width = 0;
  for (ChannelId gauge : point.gauges) width = std::max(width, width_of(rig.channels[gauge.at()]));
  return width;
}

double width_of_points(const QuantityRef& of, const Rig& rig) {
  double width = 0;
  for (std::uint16_t subject : of.subjects) width += width_of(rig.points[subject], rig);
  return width;
}

// What the instruments behind a quantity can tell at most.
Reach reach_of(const QuantityRef& of, const Rig& rig) {
  if (of.rate) return everything;
  const auto jack = [&]() -> const Jack& { return rig.jacks[of.subjects.front()]; };
  const auto advance = [&](JackId id) -> const Channel& { return rig.channels[rig.jacks[id.at()].advance.at()]; };
  switch (of.kind) {
    case QuantityKind::pressure:
      return {advance(JackId{of.subjects.front()}).range_low, advance(JackId{of.subjects.front()}).range_high};
    case QuantityKind::pressure_spread: {
      double most = 0;
      for (JackId id : jacks_of(of, rig)) most = std::max(most, advance(id).range_high);
      return {everything.least, most};
    }
    case QuantityKind::supply: {
      double most = 0;
      for (JackId id : jacks_of(of, rig)) most = std::max(most, advance(id).range_high);
      return {-most, rig.channels[rig.circuits[of.subjects.front()].supply->at()].range_high};
    }
    case QuantityKind::load:
    case QuantityKind::circuit_load:
    case QuantityKind::group_load:
    case QuantityKind::total_load: {
      double most = 0;
      for (JackId id : jacks_of(of, rig)) most += advance(id).range_high * rig.jacks[id.at()].area.si();
      return {everything.least, most};
    }
    case QuantityKind::movement: case QuantityKind::differential: case QuantityKind::warp: case QuantityKind::agreement:
      return either_way(width_of_points(of, rig));
    case QuantityKind::travel: case QuantityKind::predicted_departure:
      return either_way(width_of(rig.channels[jack().stroke_channel->at()]));
    case QuantityKind::travel_left: return {everything.least, jack().stroke_limit.si()};
    case QuantityKind::temperature: case QuantityKind::channel:
      return {rig.channels[of.subjects.front()].range_low, rig.channels[of.subjects.front()].range_high};
    case QuantityKind::temperature_change: return either_way(width_of(rig.channels[of.subjects.front()]));
    case QuantityKind::share: case QuantityKind::transferred: case QuantityKind::tilt: case QuantityKind::load_lost:
    case QuantityKind::stiffness_ratio: case QuantityKind::creep:
      return everything;
  }
  return everything;
}

class LimitCheck {
 public:
  LimitCheck(const DraftLimit& draft, const Step* step, const PlanDraft& plan)
      : draft_{draft}, limit_{draft.limit}, step_{step}, plan_{plan} {}

  void run() {
    const std::optional<LevelBound>* levels[level_count] = {&limit_.review, &limit_.hold, &limit_.stop};
    std::optional<double> above, below;
    for (std::size_t i = 0; i < level_count; ++i) {
      if (!*levels[i]) continue;
      const auto next_above = value_of((*levels[i])->above), next_below = value_of((*levels[i])->below);
      if (above && next_above && beyond(*above, *next_above)) complain_order(i);
      if (below && next_below && beyond(*next_below, *below)) complain_order(i);
      if (next_above && next_below && !beyond(*next_above, *next_below)) complain_gap(i);
      check_reach(i, next_above, next_below);
      if (next_above) above = next_above;
      if (next_below) below = next_below;
    }
  }

 private:
  std::optional<double> value_of(const std::optional<Bound>& bound) const {
    if (!bound) return std::nullopt;
    return bound_value(*bound, limit_.of, plan_.rig, plan_.plan, step_);
  }
  bool beyond(double a, double b) const { return exceeds({limit_.of.dimension, a}, {limit_.of.dimension, b}); }

  void complain_order(std::size_t level) {
    plan_.complaints.add("E-limit-order", draft_.level_spots[level],
                         "this level trips before the milder one in front of it",
                         {{}, "review, hold, stop: each at least as far out as the one before", {}});
  }

  void complain_gap(std::size_t level) {
    plan_.complaints.add("E-limit-order", draft_.level_spots[level],
                         "'above' is not higher than 'below': every value would trip",
                         {{}, "an 'above' that is higher than 'below'", {}});
  }

  void check_reach(std::size_t level, std::optional<double> above, std::optional<double> below) {
    const Reach reach = reach_of(limit_.of, plan_.rig);
    const bool too_high =
        above && *above < everything.most && reach.most < everything.most && beyond(*above, reach.most);
    const bool too_low = below && reach.least > everything.least && beyond(reach.least, *below);
    if (!too_high && !too_low) return;
    const Dimension d = limit_.of.dimension;
    const std::string_view unit = default_unit(d);
    plan_.complaints.add("E-limit-range", draft_.level_spots[level],
                         "the limit lies beyond what the instruments can tell (" +
                             amount_text({d, too_high ? reach.most : reach.least}, unit, 1) + ")",
                         {{}, "a limit within the range of the instruments", {}});
  }

  const DraftLimit& draft_;
  const Limit& limit_;
  const Step* step_;
  const PlanDraft& plan_;
};

}  // namespace

void check_limits(const StageDraft& stage, const PlanDraft& draft) {
  for (const DraftLimit& limit : stage.limits) {
    if (stage.stage.steps.empty()) LimitCheck{limit, nullptr, draft}.run();
    for (const Step& step : stage.stage.steps) LimitCheck{limit, &step, draft}.run();
  }
}

}  // namespace standfast
