// What a limit compares: `above` looks at the highest that the evidence allows, `below` at the lowest.
//
// Both sides have the same quality, cause and instants; where nothing is saturated and no point has two gauges they are
// the same reading. `high.saturated` is none or high, `low.saturated` none or low: a part that is off the scale on the
// other side leaves a number here, at the end of its range.
#pragma once

#include "daemon/core/reading.hpp"

namespace standfast {

// Of one reading, as it stands.
Judged judged(const Reading& reading);

// One reading for what takes no sides; off the scale on either side shows in it.
const Reading& single(const Judged& value);

// A number for each side, SI.
struct Sides { double high{0}, low{0}; };

// Gathers the doubt, age and label of the parts of a derived value, then puts the number to them. A part that is bad makes
// the whole bad. Uncertainties are the caller's, because only he knows which parts share an instrument. A number that is
// not finite makes the whole bad too: nothing can be said of it.
class Merge {
 public:
  explicit Merge(Dimension dimension) : dimension_{dimension} {}

  void add(const Reading& part);
  void add(const Judged& part);
  void doubt(Cause cause);
  bool bad() const { return doubt_.quality == Quality::bad; }

  // A sum with positive weights: what is saturated high makes it high.
  Judged sum(Sides value, double uncertainty) const { return finish(value, uncertainty, high_, low_); }
  // The same turned over: what is saturated high makes it low.
  Judged negated(Sides value, double uncertainty) const { return finish(value, uncertainty, low_, high_); }
  // A difference, quotient or magnitude: what is saturated counts as beyond on both sides.
  Judged either_side(Sides value, double uncertainty) const {
    return finish(value, uncertainty, high_ || low_, high_ || low_);
  }
  // No number: bad already, or made bad by `cause`.
  Judged none(Cause cause) const;

 private:
  Judged finish(Sides value, double uncertainty, bool up, bool down) const;

  Dimension dimension_;
  Reading doubt_{Quality::good, Cause::none, {}, 0, Saturation::none, false, {}, {}};
  bool any_{false}, high_{false}, low_{false};
};

}  // namespace standfast
