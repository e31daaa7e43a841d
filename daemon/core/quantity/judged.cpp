#include "daemon/core/quantity/judged.hpp"

#include <algorithm>

#include "daemon/core/doubt.hpp"

namespace standfast {

Judged judged(const Reading& reading) {
  Judged result{reading, reading};
  if (reading.saturated == Saturation::low) result.high.saturated = Saturation::none;
  if (reading.saturated == Saturation::high) result.low.saturated = Saturation::none;
  return result;
}

const Reading& single(const Judged& value) { return value.low.saturated != Saturation::none ? value.low : value.high; }

void Merge::add(const Reading& part) {
  if (worse(part, doubt_)) {
    doubt_.quality = part.quality;
    doubt_.cause = part.cause;
  }
  doubt_.inferred = doubt_.inferred || part.inferred;
  doubt_.oldest = any_ ? std::min(doubt_.oldest, part.oldest) : part.oldest;
  doubt_.newest = any_ ? std::max(doubt_.newest, part.newest) : part.newest;
  any_ = true;
  high_ = high_ || part.saturated == Saturation::high;
  low_ = low_ || part.saturated == Saturation::low;
}

void Merge::add(const Judged& part) {
  add(part.high);
  add(part.low);
}

void Merge::doubt(Cause cause) { add_doubt(doubt_, cause); }

Judged Merge::none(Cause cause) const {
  Reading reading = doubt_;
  if (!bad()) add_doubt(reading, cause);
  reading.value = {dimension_, 0};
  return {reading, reading};
}

Judged Merge::finish(Sides value, double uncertainty, bool up, bool down) const {
  const bool finite = value.high - value.high == 0.0 && value.low - value.low == 0.0 && uncertainty - uncertainty == 0.0;
  if (bad() || !finite) return none(Cause::not_finite);
  Judged result{doubt_, doubt_};
  result.high.value = {dimension_, value.high};
  result.low.value = {dimension_, value.low};
  result.high.uncertainty = result.low.uncertainty = uncertainty;
  if (up) result.high.saturated = Saturation::high;
  if (down) result.low.saturated = Saturation::low;
  return result;
}

}  // namespace standfast
