// Logarithm and arctangent from + - * / alone. The maths library of each system differs from the next in the last bit, and
// a decision must be the same to the bit everywhere; IEEE 754 fixes the four operations and the square root.
//
// Worst error: below 0.53 of a unit in the last place; log10 of a whole power of ten is exact.
#pragma once

namespace standfast {

// `x` is finite and above 0.
double natural_logarithm(double x);
double decimal_logarithm(double x);

// Radian, between -pi/2 and pi/2; `x` is finite.
double arctangent(double x);

}  // namespace standfast
