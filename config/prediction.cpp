#include "config/prediction.hpp"

namespace standfast {

PlannedShares planned_shares(const TwoNeedles& needles) {
  const double off = needles.off_middle.si() / needles.spacing.si();
  const double length = (needles.to_a + needles.to_b).si();
  const double at_a = needles.to_b.si() / length, at_b = needles.to_a.si() / length;
  const auto share = [](double of_needle, double of_end) { return Ratio::from_si(of_needle * of_end); };
  return {share(0.5 - off, at_a), share(0.5 - off, at_b), share(0.5 + off, at_a), share(0.5 + off, at_b)};
}

Length base_settlement(Force load, Stiffness base) { return Length::from_si(load.si() / base.si()); }

TravelParts travel_parts(Force load, const Needle& needle, End end, const Leg& leg) {
  const Reactions at = reactions(load, needle.span);
  const Force reaction = end == End::a ? at.at_a : at.at_b;
  return {reaction, bending_at_load(load, needle.span, needle.section),
          shear_at_load(load, needle.span, needle.section), shortening(reaction, leg.tower),
          base_settlement(reaction, leg.base)};
}

Length ram_travel(const TravelParts& parts, Extras extras) { return parts.elastic() + extras.bedding + extras.uplift; }

Length elastic_recovery(Force load, const Bar& column) { return shortening(load, column); }

Force left_for_the_cut(Force load, const Bar& column, Length uplift) {
  const Length whole = elastic_recovery(load, column);
  if (uplift >= whole) return Force{};
  return load * (1 - uplift.si() / whole.si());
}

}  // namespace standfast
