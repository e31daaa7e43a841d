// Deflections of the steel between jack and column: the few cases that a needle beam, a tower or a column can be.
// Straight, elastic, small movements; deflections are positive in the direction of the load. The cases are numbered as in
// the AISC Steel Construction Manual, table 3-23 (from memory; the same in any mechanics text). Bending alone is not
// enough: needles are short and deep, and shear is often a quarter of the whole.
//
// Every length, area, second moment and modulus is above zero; whoever reads them from a file has checked that.
#pragma once

#include "config/units.hpp"

namespace standfast {

struct SecondMoment {
  double m4{0};
};  // Second moment of area, m4.

struct BeamSection {
  Pressure youngs_modulus, shear_modulus;
  SecondMoment inertia;
  Area web;  // What carries the shear: depth times web thickness of an I-section.
};

// A load between two supports, `from_a` from the one and span - from_a from the other.
struct LoadedSpan {
  Length span, from_a;
};
// A load beyond the nearer of two supports.
struct Overhang {
  Length span, beyond;
};
struct Reactions {
  Force at_a, at_b;  // Upwards.
};

// R_A = P b / L, R_B = P a / L: the nearer support takes more.
Reactions reactions(Force load, LoadedSpan span);

// P a2 b2 / (3 E I L), at the load (case 8; case 7 in the middle).
Length bending_at_load(Force load, LoadedSpan span, const BeamSection& section);

// P a b / (L G A_web), at the load.
Length shear_at_load(Force load, LoadedSpan span, const BeamSection& section);

// 5 W L3 / (384 E I) and W L / (8 G A_web): mid-span, of a weight spread evenly over the span (case 1).
Length bending_of_own_weight(Force weight, Length span, const BeamSection& section);
Length shear_of_own_weight(Force weight, Length span, const BeamSection& section);

// R_near = P (1 + c / L), R_far = -P c / L: the far support holds down.
struct OverhangReactions {
  Force near, far;
};
OverhangReactions reactions(Force load, Overhang arm);

// P c2 (L + c) / (3 E I) and P c (1 + c / L) / (G A_web), at the load (case 26; the shear from the reactions).
Length bending_at_load(Force load, Overhang arm, const BeamSection& section);
Length shear_at_load(Force load, Overhang arm, const BeamSection& section);

// P L3 / (3 E I) and P L / (G A_web): a beam built in at one end, at its loaded tip (case 22).
Length bending_at_tip(Force load, Length arm, const BeamSection& section);
Length shear_at_tip(Force load, Length arm, const BeamSection& section);

struct Bar {
  Length length;
  Area section;
  Pressure youngs_modulus;
};

// N L / (E A).
Length shortening(Force load, const Bar& bar);

// Where a straight, stiff piece is, `along` of the way from A to B, when its ends have moved by so much.
struct EndMovements {
  Length at_a, at_b;
};
Length movement_between(EndMovements ends, Ratio along);

}  // namespace standfast
