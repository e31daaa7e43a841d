#include "daemon/core/quantity/evaluate.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "config/depends.hpp"
#include "config/ensure.hpp"
#include "daemon/core/doubt.hpp"
#include "daemon/core/quantity/plane.hpp"
#include "daemon/core/quantity/share.hpp"

namespace standfast {
namespace {

constexpr int polls_of_skew = 2;
constexpr std::size_t most_points = 16;
constexpr Dimension metre{Base::length, Per::none};

std::optional<MarkValue> of_channel(const MarkValues* marks, ChannelId channel) {
  return marks && channel.at() < marks->channels.size() ? marks->channels[channel.at()] : std::nullopt;
}

std::optional<MarkValue> of_load(const MarkValues* marks, std::size_t jack) {
  return marks && jack < marks->loads.size() ? marks->loads[jack] : std::nullopt;
}

Judged doubted(Judged value, Cause cause) {
  add_doubt(value.high, cause);
  add_doubt(value.low, cause);
  return value;
}

// What is doubted or off the scale now is so in its slope too, even where the window took no sample of it.
Judged as_now(Judged slope, const Reading& now) {
  slope = doubted(slope, now.cause);
  if (slope.high.quality == Quality::bad || now.saturated == Saturation::none) return slope;
  slope.high.saturated = Saturation::high;
  slope.low.saturated = Saturation::low;
  return slope;
}

bool is_taken_at_pump(const Rig& rig, JackId jack) {
  if (rig.channels[rig.jacks[jack.at()].advance.at()].fitted_at == FittedAt::pump) return true;
  return std::any_of(rig.circuits.begin(), rig.circuits.end(), [&](const Circuit& circuit) {
    return circuit.pressure_taken_at == FittedAt::pump &&
           std::find(circuit.jacks.begin(), circuit.jacks.end(), jack) != circuit.jacks.end();
  });
}

bool is_shared(const Rig& rig, JackId jack) {
  const ChannelId own = rig.jacks[jack.at()].advance;
  return std::count_if(rig.jacks.begin(), rig.jacks.end(), [&](const Jack& each) { return each.advance == own; }) > 1;
}

// Computes one quantity, and notes how slowly the slowest channel behind it is read.
class Evaluation {
 public:
  explicit Evaluation(const ValueContext& context)
      : context_{context}, rig_{context.job.rig}, plan_{context.job.plan}, references_{context.values.references} {}

  const Reading& reading(ChannelId channel) {
    const ChannelState& state = context_.values.channels[channel.at()];
    slowest_ = std::max(slowest_, state.every);
    longest_stale_ = std::max(longest_stale_, state.stale_after);
    const bool is_median = context_.take == Take::steadied && rig_.channels[channel.at()].median > 1;
    const bool is_known = context_.apart_from && state.reading.newest <= *context_.apart_from;
    if (is_known && !is_median && state.reading.quality != Quality::bad) return state.earlier;
    return context_.take == Take::as_read ? state.reading : state.steadied;
  }

  Judged load(JackId id) {
    const Jack& jack = rig_.jacks[id.at()];
    const Direction direction = context_.values.jacks[id.at()].direction;
    Judged value = jack_load(jack, direction, reading(jack.advance), jack.retract ? reading(*jack.retract) : Reading{});
    if (is_shared(rig_, id)) value = doubted(value, Cause::shared_transducer);
    if (context_.progress.oil_flows && is_taken_at_pump(rig_, id)) value = doubted(value, Cause::oil_flows);
    return value;
  }

  LoadSum sum(const std::vector<JackId>& jacks) {
    Loads loads;
    for (const JackId jack : jacks) loads.add(load(jack), rig_.jacks[jack.at()].advance);
    return loads.sum();
  }

  LoadSum total() {
    Loads loads;
    for (std::size_t jack = 0; jack < rig_.jacks.size(); ++jack) loads.add(load(JackId{jack}), rig_.jacks[jack].advance);
    return loads.sum();
  }

  // `gauge(channel, turned)` is what one gauge says, up positive.
  template <class GaugeOf>
  PointMovement point(const Point& point, Dimension dimension, GaugeOf& gauge) {
    Gauges gauges{dimension};
    for (const ChannelId channel : point.gauges) gauges.add(gauge(channel, !point.up_is_positive));
    PointMovement result = gauges.movement();
    if (!point.agree_within || !disagree(twins_apart(point), *point.agree_within)) return result;
    result.worst = doubted(result.worst, Cause::twins_disagree);
    add_doubt(result.mean, Cause::twins_disagree);
    return result;
  }

  auto since(Since since, std::uint16_t mark) {
    return [this, marks = marks_named(since, mark)](ChannelId channel, bool turned) {
      return change_since(reading(channel), of_channel(marks, channel), metre, turned);
    };
  }

  Judged agreement_of(const Point& point) {
    return agreement(point, [](ChannelId) { return true; });
  }

  // What was entered by hand hours ago does not disagree with a gauge that has moved since.
  Judged twins_apart(const Point& point) {
    return agreement(point, [this](ChannelId channel) {
      return rig_.channels[channel.at()].bus || context_.values.channels[channel.at()].reading.newest == context_.now;
    });
  }

  // The one place that knows every quantity. `per`: none for a value, second for the rate of one that goes by gauge.
  template <class GaugeOf>
  Judged value(const QuantityRef& of, Per per, GaugeOf gauge) {
    const Dimension length{Base::length, per};
    const std::size_t first = of.subjects.empty() ? 0 : of.subjects[0];
    const auto movement = [&](std::size_t i) { return point(rig_.points[of.subjects[i]], length, gauge).worst; };
    switch (of.kind) {
      case QuantityKind::pressure: return judged(reading(rig_.jacks[first].advance));
      case QuantityKind::load: return load(JackId{first});
      case QuantityKind::circuit_load: return sum(rig_.circuits[first].jacks).sum;
      case QuantityKind::group_load: return sum(rig_.groups[first].jacks).sum;
      case QuantityKind::total_load: return total().sum;
      case QuantityKind::share: return share_of(JackId{first}, of.from_planned);
      case QuantityKind::transferred: return transferred(total().sum, plan_.column_expected);
      case QuantityKind::movement: return movement(0);
      case QuantityKind::differential: {
        const Judged a = movement(0);
        return difference(a, movement(1), length);
      }
      case QuantityKind::tilt: return tilt_of(of, per, gauge);
      case QuantityKind::warp: {
        std::array<Judged, 4> corners;
        for (std::size_t i = 0; i < 4; ++i) corners[i] = movement(i);
        return warp(corners, length);
      }
      case QuantityKind::travel: return travel(first, marks_named(of.since, of.mark));
      case QuantityKind::travel_left: return travel_left_of(rig_.jacks[first]);
      case QuantityKind::load_lost: return load_lost(of);
      case QuantityKind::predicted_departure: return departure_of(JackId{first});
      case QuantityKind::stiffness_ratio: return stiffness(of);
      case QuantityKind::creep: return creep(of);
      case QuantityKind::temperature: case QuantityKind::channel: return judged(reading(ChannelId{first}));
      case QuantityKind::temperature_change: return temperature_change(of);
      case QuantityKind::agreement: return agreement_of(rig_.points[first]);
      case QuantityKind::pressure_spread: return pressure_spread_of(rig_.circuits[first]);
      case QuantityKind::supply: return supply_of(rig_.circuits[first]);
    }
    ENSURE(false);
  }

  Judged value(const QuantityRef& of) { return value(of, Per::none, since(of.since, of.mark)); }

  // Of a rate: the worst gauge's slope, or that of the quantity itself.
  Judged rate(const QuantityRef& of) {
    const Windowed* windowed = windowed_of(of);
    if (!windowed) return Merge{of.dimension}.none(Cause::filling);
    if (!is_by_gauge(of.kind))
      return as_now(windowed->slopes[0].slope(of.dimension, context_.now), single(series_of(of, context_)));
    std::size_t next = 0;
    return value(of, Per::second, [&](ChannelId channel, bool turned) {
      const Judged slope = windowed->slopes[next++].slope({Base::length, Per::second}, context_.now);
      return as_now(turned_over(slope, turned), reading(channel));
    });
  }

  Judged skewed(Judged value) const {
    const Duration skew = value.high.newest - value.high.oldest;
    if (value.high.quality == Quality::bad) return value;
    if (skew > longest_stale_) return doubted(value, Cause::skewed_bad);
    return skew > slowest_ * polls_of_skew ? doubted(value, Cause::skewed) : value;
  }

 private:
  template <class Counts>
  Judged agreement(const Point& point, Counts counts) {
    auto gauge = since(Since::baseline, 0);
    Gauges gauges{metre};
    std::array<PlanePoint, most_points> placed;
    std::size_t answering = 0;
    for (std::size_t i = 0; i < point.gauges.size(); ++i) {
      if (!counts(point.gauges[i])) continue;
      const Judged each = gauge(point.gauges[i], !point.up_is_positive);
      gauges.add(each);
      if (!point.gauges_at.empty() && each.high.quality != Quality::bad) placed[answering++] = {point.gauges_at[i], each};
    }
    const auto off = off_plane_of_others({placed.data(), answering});
    return off ? gauges.agreement(*off) : gauges.agreement();
  }

  const Windowed* windowed_of(const QuantityRef& of) const {
    const auto& all = context_.values.windowed;
    const auto found = std::find_if(all.begin(), all.end(), [&](const Windowed& each) { return each.of == of; });
    return found == all.end() ? nullptr : &*found;
  }

  const MarkValues* marks_named(Since since, std::uint16_t mark) const {
    return marks_of(since, mark, references_, context_.progress.stage);
  }

  Judged share_of(JackId jack, bool from_planned) {
    const Judged whole = total().sum;
    return from_planned ? share_from_planned(load(jack), whole, rig_.jacks[jack.at()].planned_share) : share(load(jack), whole);
  }

  template <class GaugeOf>
  Judged tilt_of(const QuantityRef& of, Per per, GaugeOf& gauge) {
    ENSURE(of.subjects.size() <= most_points);
    std::array<PlanePoint, most_points> points;
    bool placed = true;
    for (std::size_t i = 0; i < of.subjects.size(); ++i) {
      const Point& each = rig_.points[of.subjects[i]];
      placed = placed && each.at;
      points[i] = {each.at.value_or(Position{}), point(each, {Base::length, per}, gauge).worst};
    }
    const Judged value = tilt({points.data(), of.subjects.size()}, {Base::angle, per});
    return placed ? value : doubted(value, Cause::no_reference);
  }

  Judged travel(std::size_t jack, const MarkValues* marks) {
    const auto stroke = rig_.jacks[jack].stroke_channel;
    if (!stroke) return Merge{metre}.none(Cause::no_reference);
    return change_since(reading(*stroke), of_channel(marks, *stroke), metre, false);
  }

  Judged travel_left_of(const Jack& jack) {
    if (!jack.stroke_channel) return Merge{metre}.none(Cause::no_reference);
    return travel_left(jack.stroke_limit, reading(*jack.stroke_channel));
  }

  // One pump feeds the jacks of a circuit: what stands between two of them is a coupler, a valve, a leak or a wrong wire.
  Judged pressure_spread_of(const Circuit& circuit) {
    Gauges pressures{{Base::pressure, Per::none}};
    for (const JackId jack : circuit.jacks) pressures.add(judged(reading(rig_.jacks[jack.at()].advance)));
    return pressures.agreement();
  }

  // While the pump runs, what is before the check valves stands above the jack that it flows to; else a hose has burst or a coupler
  // has come off. Jacks whose valves are shut may stand above it, so the lowest counts. A pump that stands need hold nothing. Of
  // one that may run, or has not been read since it started, there is no value, which neither starts an alarm nor ends one.
  Judged supply_of(const Circuit& circuit) {
    Merge merge{{Base::pressure, Per::none}};
    const Reading& supply = reading(*circuit.supply);
    const std::optional<bool> runs = context_.progress.pump_runs;
    const auto since = context_.values.pump_runs_since;
    if (!runs || (*runs && (!since || supply.newest <= *since))) return merge.none(Cause::no_reference);
    merge.add(supply);
    const Reading* lowest = nullptr;
    for (const JackId jack : circuit.jacks) {
      const Reading& port = reading(rig_.jacks[jack.at()].advance);
      merge.add(port);
      if (!lowest || port.value.si < lowest->value.si) lowest = &port;
    }
    const double over = *runs ? supply.value.si - lowest->value.si : 0;
    const double variance = supply.uncertainty * supply.uncertainty + lowest->uncertainty * lowest->uncertainty;
    return merge.either_side({over, over}, std::sqrt(variance));
  }

  Judged load_lost(const QuantityRef& of) {
    const auto mark = of_load(marks_named(of.since, of.mark), of.subjects[0]);
    return change_since(single(load(JackId{of.subjects[0]})), mark, {Base::force, Per::none}, true);
  }

  Judged departure_of(JackId jack) {
    const auto stroke = rig_.jacks[jack.at()].stroke_channel;
    const bool zeroed = stroke && of_channel(&references_.travel_zero, *stroke);
    const MarkValues& marks = zeroed ? references_.travel_zero : references_.baseline;
    return departure(travel(jack.at(), &marks), load(jack), plan_, jack);
  }

  Judged temperature_change(const QuantityRef& of) {
    const ChannelId channel{of.subjects[0]};
    const auto mark = of_channel(marks_named(of.since, of.mark), channel);
    return change_since(reading(channel), mark, {Base::temperature_difference, Per::none}, false);
  }

  Judged stiffness(const QuantityRef& of) {
    const Windowed* windowed = windowed_of(of);
    const Jack& jack = rig_.jacks[of.subjects[0]];
    if (!windowed || !jack.stroke_channel) return Merge{of.dimension}.none(Cause::filling);
    const Judged now = load(JackId{of.subjects[0]});
    std::optional<double> predicted;
    if (now.high.quality != Quality::bad)
      if (const auto p = predicted_at(plan_, JackId{of.subjects[0]}, Force::from_si(now.high.value.si))) predicted = p->slope;
    const Judged value = windowed->stiffness->ratio(predicted, context_.now);
    return as_now(as_now(value, single(now)), reading(*jack.stroke_channel));
  }

  Judged creep(const QuantityRef& of) {
    const Windowed* windowed = windowed_of(of);
    const Dimension per_decade{Base::length, Per::decade};
    if (!windowed) return Merge{per_decade}.none(Cause::filling);
    std::size_t next = 0;
    auto gauge = [&](ChannelId channel, bool turned) {
      return as_now(turned_over(windowed->creeps[next++].per_decade(per_decade), turned), reading(channel));
    };
    return point(rig_.points[of.subjects[0]], per_decade, gauge).worst;
  }

  const ValueContext& context_;
  const Rig& rig_;
  const Plan& plan_;
  const References& references_;
  Duration slowest_{}, longest_stale_{};
};

}  // namespace

const MarkValues* marks_of(Since since, std::uint16_t mark, const References& references, std::optional<StageId> stage) {
  switch (since) {
    case Since::baseline: return &references.baseline;
    case Since::stage_start:
      return stage && stage->at() < references.stage_starts.size() ? &references.stage_starts[stage->at()] : nullptr;
    case Since::lock_off: return &references.lock_off;
    case Since::mark: return mark < references.marks.size() ? &references.marks[mark] : nullptr;
  }
  return nullptr;
}

Judged evaluate(const QuantityRef& of, const ValueContext& context) {
  Evaluation evaluation{context};
  if (of.rate && is_windowed(of.kind)) return Merge{of.dimension}.none(Cause::no_reference);
  if (of.rate) return evaluation.rate(of);
  const Judged value = evaluation.value(of);
  return is_windowed(of.kind) ? value : evaluation.skewed(value);
}

bool has_median(const QuantityRef& of, const Rig& rig) {
  const std::vector<ChannelId> channels = channels_of(of, rig);
  return std::any_of(channels.begin(), channels.end(), [&](ChannelId channel) { return rig.channels[channel.at()].median > 1; });
}

Judged load_of(JackId jack, const ValueContext& context) {
  Evaluation evaluation{context};
  const Judged value = evaluation.load(jack);
  return evaluation.skewed(value);
}

LoadSum total_load(const ValueContext& context) {
  Evaluation evaluation{context};
  LoadSum total = evaluation.total();
  total.sum = evaluation.skewed(total.sum);
  return total;
}

PointMovement movement_of(PointId point, Since since, std::uint16_t mark, const ValueContext& context) {
  Evaluation evaluation{context};
  auto gauge = evaluation.since(since, mark);
  PointMovement value = evaluation.point(context.job.rig.points[point.at()], metre, gauge);
  value.worst = evaluation.skewed(value.worst);
  return value;
}

Judged twins_apart(PointId point, const ValueContext& context) {
  Evaluation evaluation{context};
  const Judged value = evaluation.twins_apart(context.job.rig.points[point.at()]);
  return evaluation.skewed(value);
}

Judged series_of(const QuantityRef& of, const ValueContext& context) {
  Evaluation evaluation{context};
  if (of.kind == QuantityKind::travel && context.job.rig.jacks[of.subjects[0]].stroke_channel)
    return judged(evaluation.reading(*context.job.rig.jacks[of.subjects[0]].stroke_channel));
  if (of.kind == QuantityKind::temperature_change) return judged(evaluation.reading(ChannelId{of.subjects[0]}));
  if (of.kind == QuantityKind::load_lost) return turned_over(load_of(JackId{of.subjects[0]}, context), true);
  const Judged value = evaluation.value(of);
  return evaluation.skewed(value);
}

bool is_windowed(QuantityKind kind) { return kind == QuantityKind::creep || kind == QuantityKind::stiffness_ratio; }

}  // namespace standfast
