#include "daemon/core/quantity/load.hpp"

#include <algorithm>
#include <cmath>

#include "config/ensure.hpp"

namespace standfast {
namespace {

constexpr double turning = 0.01;  // Of the range.

using Curve = std::vector<CalibrationPoint>;

CalibrationPoint before_last(const Curve& curve) {
  return curve.size() > 1 ? curve[curve.size() - 2] : CalibrationPoint{};  // The origin: no pressure, no load.
}

LoadNumber on_stretch(const CalibrationPoint& a, const CalibrationPoint& b, Pressure pressure) {
  const double slope = (b.load - a.load).si() / (b.pressure - a.pressure).si();
  return {a.load + Force::from_si(slope * (pressure - a.pressure).si()), slope, false};
}

LoadNumber on_curve(const Curve& curve, Pressure pressure) {
  if (exceeds(amount(pressure), amount(curve.back().pressure))) {
    LoadNumber number = on_stretch(before_last(curve), curve.back(), pressure);
    number.beyond_calibration = true;
    return number;
  }
  const auto upper = std::find_if(curve.begin(), curve.end(), [&](const CalibrationPoint& p) { return p.pressure >= pressure; });
  if (upper == curve.end()) return {curve.back().load, 0, false};  // Beyond the last point by less than the grid shows.
  if (upper != curve.begin()) return on_stretch(*(upper - 1), *upper, pressure);
  if (curve.front().pressure > Pressure{}) return on_stretch({}, curve.front(), pressure);
  return curve.size() > 1 ? on_stretch(curve[0], curve[1], pressure) : LoadNumber{curve.front().load, 0, false};
}

LoadNumber larger(const LoadNumber& a, const LoadNumber& b) {
  LoadNumber result = a.load >= b.load ? a : b;
  result.beyond_calibration = a.beyond_calibration || b.beyond_calibration;
  return result;
}

}  // namespace

void take_pressure(JackState& jack, const Channel& channel, const Reading& pressure) {
  if (!pressure.has_number()) return;
  const double now = pressure.value.si, band = turning * (channel.range_high - channel.range_low);
  const auto pascal = [](double si) { return amount(Pressure::from_si(si)); };
  const bool rising = jack.direction == Direction::rising;
  const double extreme = jack.extreme.value_or(now);
  const bool turned = rising ? exceeds(pascal(extreme - band), pascal(now)) : exceeds(pascal(now), pascal(extreme + band));
  if (turned) jack.direction = rising ? Direction::falling : Direction::rising;
  if (turned || (rising ? now > extreme : now < extreme) || !jack.extreme) jack.extreme = now;
}

LoadNumber advance_load(const Jack& jack, Pressure pressure, Direction direction) {
  const LoadNumber plain{pressure * jack.area, jack.area.si(), false};
  const Curve& own = direction == Direction::rising ? jack.rising : jack.falling;
  const Curve& other = direction == Direction::rising ? jack.falling : jack.rising;
  if (own.empty()) return other.empty() ? plain : larger(on_curve(other, pressure), plain);
  const LoadNumber number = on_curve(own, pressure);
  return number.beyond_calibration ? larger(number, plain) : number;
}

Judged jack_load(const Jack& jack, Direction direction, const Reading& advance, const Reading& retract) {
  Merge merge{{Base::force, Per::none}};
  merge.add(advance);
  if (jack.retract) merge.add(retract);
  if (merge.bad()) return merge.none(Cause::part_bad);
  const LoadNumber number = advance_load(jack, Pressure::from_si(advance.value.si), direction);
  if (number.beyond_calibration) merge.doubt(Cause::beyond_calibration);
  const double of_advance = number.slope * advance.uncertainty;
  if (!jack.retract) return merge.sum({number.load.si(), number.load.si()}, of_advance);
  const double retract_area = jack.retract_area.value_or(Area{}).si();
  const double load = number.load.si() - retract.value.si * retract_area, of_retract = retract_area * retract.uncertainty;
  return merge.either_side({load, load}, std::sqrt(of_advance * of_advance + of_retract * of_retract));
}

void Loads::add(const Judged& load, ChannelId transducer) {
  merge_.add(load);
  ++parts_;
  if (load.high.quality == Quality::bad) return;
  ++answering_;
  value_.high += load.high.value.si;
  value_.low += load.low.value.si;
  const auto known_end = transducers_.begin() + static_cast<std::ptrdiff_t>(transducers_known_);
  const auto place = static_cast<std::size_t>(std::find(transducers_.begin(), known_end, transducer) - transducers_.begin());
  if (place < transducers_known_) return void(uncertainties_[place] += load.high.uncertainty);
  ENSURE(transducers_known_ < most_jacks);
  transducers_[place] = transducer;
  uncertainties_[place] = load.high.uncertainty;
  ++transducers_known_;
}

LoadSum Loads::sum() const {
  double variance = 0;
  for (std::size_t i = 0; i < transducers_known_; ++i) variance += uncertainties_[i] * uncertainties_[i];
  return {merge_.sum(value_, std::sqrt(variance)), parts_, answering_};
}

}  // namespace standfast
