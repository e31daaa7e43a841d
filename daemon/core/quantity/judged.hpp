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

// Gathers the doubt, age and label of the parts of a derived value, then puts the number to them. A part that is bad makes
// the whole bad. Uncertainties are the caller's, because only he knows which parts share an instrument.
class Merge {
 public:
  void add(const Reading& part);
  void add(const Judged& part);
  void add_doubt(Cause cause);
  bool bad() const { return doubt_.quality == Quality::bad; }
  int good_parts() const { return good_; }

  // A sum with positive weights: what is saturated high makes it high.
  Judged sum(Amount high, Amount low, double uncertainty) const;
  Judged sum(Amount value, double uncertainty) const { return sum(value, value, uncertainty); }
  // The same turned over: what is saturated high makes it low.
  Judged negated(Amount high, Amount low, double uncertainty) const;
  // A difference, quotient or magnitude: what is saturated counts as beyond on both sides.
  Judged either_side(Amount high, Amount low, double uncertainty) const;
  Judged either_side(Amount value, double uncertainty) const { return either_side(value, value, uncertainty); }
  // No number: bad already, or made bad by `cause`.
  Judged none(Cause cause, Dimension dimension) const;

 private:
  Judged finish(Amount high, Amount low, double uncertainty, bool up, bool down) const;

  Reading doubt_{Quality::good, Cause::none, {}, 0, Saturation::none, false, {}, {}};
  int parts_{0}, good_{0};
  bool high_{false}, low_{false};
};

}  // namespace standfast
