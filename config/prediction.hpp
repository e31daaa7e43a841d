// What the jacks should do, from first principles: the cross-check printed beside the engineer's own prediction, never
// instead of it. Statics of needle beams is exact; stiffness of packing and ground is a guess until it has been measured
// (common practice, no source: plus or minus 25 % at first, 10 % once the slope is known).
//
// Every length, area, stiffness and modulus is above zero; whoever reads them from a file has checked that.
#pragma once

#include "config/beam.hpp"
#include "config/units.hpp"

namespace standfast {

// A column on two needle beams, one on either side of it, each between tower A and tower B.
struct TwoNeedles {
  Length to_a, to_b;  // From the column to the towers.
  Length spacing;     // From needle 1 to needle 2.
  Length off_middle;  // Of the column load, from the middle between the needles towards needle 2; less than half of it.
};
struct PlannedShares {  // Of the column load; together 1.
  Ratio needle_1_at_a, needle_1_at_b, needle_2_at_a, needle_2_at_b;
};
// A needle carries N (1/2 -+ e / s), and its ends share that by the lever rule.
PlannedShares planned_shares(const TwoNeedles& needles);

// What stands between a needle's end and firm ground.
struct Leg {
  Bar tower;
  Stiffness base;
};
Length base_settlement(Force load, Stiffness base);

struct Needle {
  LoadedSpan span;
  BeamSection section;
};
enum class End { a, b };

// What one ram must travel for the column to give this load to the needle, part by part. It is assumed that both ends
// rise alike, so that each has the whole deflection at the load to make up, and that the column head stands.
struct TravelParts {
  Force reaction;  // On this ram.
  Length bending, shear, tower, base;

  Length elastic() const { return bending + shear + tower + base; }
  Stiffness stiffness() const { return Stiffness::from_si(reaction.si() / elastic().si()); }
};
TravelParts travel_parts(Force load, const Needle& needle, End end, const Leg& leg);

// Elastic travel, plus what the packing takes until it bears, plus the rise of the column head.
struct Extras {
  Length bedding, uplift;
};
Length ram_travel(const TravelParts& parts, Extras extras);

// By how much the head of a standing column must rise before it carries nothing: N L / (E A). An uplift limit below that
// makes a full transfer before the cut impossible: what is left then arrives at the cut, at once.
Length elastic_recovery(Force load, const Bar& column);
Force left_for_the_cut(Force load, const Bar& column, Length uplift);

}  // namespace standfast
