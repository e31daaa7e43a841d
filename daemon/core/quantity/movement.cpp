#include "daemon/core/quantity/movement.hpp"

#include <algorithm>
#include <cmath>

namespace standfast {
namespace {

constexpr Dimension metre{Base::length, Per::none};

double in_squares(double a, double b) { return std::sqrt(a * a + b * b); }

}  // namespace

Judged change_since(const Reading& reading, const std::optional<MarkValue>& since, Dimension dimension, bool turned) {
  Merge merge{dimension};
  merge.add(reading);
  if (!since) return merge.none(Cause::mark_missing);
  const double change = turned ? since->value - reading.value.si : reading.value.si - since->value;
  const double uncertainty = in_squares(reading.uncertainty, since->standard_error);
  return turned ? merge.negated({change, change}, uncertainty) : merge.sum({change, change}, uncertainty);
}

Judged turned_over(const Judged& value, bool turned) {
  if (!turned) return value;
  Merge merge{value.high.value.dimension};
  merge.add(value);
  return merge.negated({-value.low.value.si, -value.high.value.si}, value.high.uncertainty);
}

void Gauges::add(const Judged& gauge) {
  ++gauges_;
  if (gauge.high.quality == Quality::bad) return silent_.add(gauge);
  answering_.add(gauge);
  value_.high = count_ == 0 ? gauge.high.value.si : std::max(value_.high, gauge.high.value.si);
  value_.low = count_ == 0 ? gauge.low.value.si : std::min(value_.low, gauge.low.value.si);
  middle_ += (gauge.high.value.si + gauge.low.value.si) / 2;
  uncertainty_ = std::max(uncertainty_, gauge.high.uncertainty);
  ++count_;
}

PointMovement Gauges::movement() const {
  PointMovement point;
  point.gauges = gauges_;
  point.answering = count_;
  if (count_ == 0) {
    point.worst = silent_.none(Cause::no_reference);
    point.mean = point.worst.high;
    return point;
  }
  point.worst = answering_.sum(value_, uncertainty_);
  const double mean = middle_ / count_;
  const Judged shown = answering_.sum({mean, mean}, uncertainty_);
  point.mean = shown.low.saturated != Saturation::none ? shown.low : shown.high;
  return point;
}

Judged Gauges::agreement() const {
  if (count_ < 2) return silent_.none(Cause::no_reference);
  const double apart = value_.high - value_.low;
  return answering_.either_side({apart, apart}, in_squares(uncertainty_, uncertainty_));
}

Judged Gauges::agreement(const OffPlane& off) const { return answering_.either_side({off.most, off.most}, off.uncertainty); }

bool disagree(const Judged& agreement, Length agree_within) {
  if (agreement.high.quality == Quality::bad) return false;
  return agreement.high.saturated != Saturation::none || exceeds(agreement.high.value, amount(agree_within));
}

Judged difference(const Judged& a, const Judged& b, Dimension dimension) {
  Merge merge{dimension};
  merge.add(a);
  merge.add(b);
  return merge.either_side({a.high.value.si - b.low.value.si, a.low.value.si - b.high.value.si},
                           in_squares(a.high.uncertainty, b.high.uncertainty));
}

Judged warp(std::span<const Judged, 4> corners, Dimension dimension) {
  Merge merge{dimension};
  double variance = 0;
  for (const Judged& corner : corners) {
    merge.add(corner);
    variance += corner.high.uncertainty * corner.high.uncertainty;
  }
  const auto high = [&](std::size_t i) { return corners[i].high.value.si; };
  const auto low = [&](std::size_t i) { return corners[i].low.value.si; };
  const Sides value{(high(0) + high(2)) - (low(1) + low(3)), (low(0) + low(2)) - (high(1) + high(3))};
  return merge.either_side(value, std::sqrt(variance));
}

Judged travel_left(Length stroke_limit, const Reading& ram) {
  Merge merge{metre};
  merge.add(ram);
  const double left = stroke_limit.si() - ram.value.si;
  return merge.negated({left, left}, ram.uncertainty);
}

}  // namespace standfast
