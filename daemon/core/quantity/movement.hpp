// Movement of points and rams against a reference. m, up positive; the same formulas serve their rates, m/s.
#pragma once

#include <optional>
#include <span>

#include "config/units.hpp"
#include "daemon/core/quantity/judged.hpp"
#include "daemon/core/quantity/mark.hpp"
#include "daemon/core/quantity/plane.hpp"

namespace standfast {

// A reading less its reference, turned over where the instrument counts the other way.
// u2 = u2(reading) + s2(reference).
Judged change_since(const Reading& reading, const std::optional<MarkValue>& since, Dimension dimension, bool turned);

// The same sign rule for what needs no reference, such as a rate.
Judged turned_over(const Judged& value, bool turned);

struct PointMovement {
  Judged worst;   // high: the highest gauge, low: the lowest. What limits compare.
  Reading mean;   // Only for show.
  int gauges{0}, answering{0};
};

// The gauges of one point. A bad gauge leaves its twin to guard; the point is bad only where all are.
class Gauges {
 public:
  explicit Gauges(Dimension dimension) : dimension_{dimension}, answering_{dimension}, silent_{dimension} {}

  void add(const Judged& gauge);
  PointMovement movement() const;
  // The largest difference between gauges. Of one gauge alone there is none.
  Judged agreement() const;
  // Where their places are known and a tilt was taken off: the gauge furthest from the plane through the others.
  Judged agreement(const OffPlane& off) const;

 private:
  Dimension dimension_;
  Merge answering_, silent_;
  Sides value_;
  double middle_{0}, uncertainty_{0};
  int gauges_{0}, count_{0};
};

// Gauges further apart than this: one of them is wrong, and nobody knows which.
bool disagree(const Judged& agreement, Length agree_within);

// u_a - u_b.
Judged difference(const Judged& a, const Judged& b, Dimension dimension);

// (u_1 + u_3) - (u_2 + u_4) over corners in order: what a plane cannot show.
Judged warp(std::span<const Judged, 4> corners, Dimension dimension);

// Stroke limit less the ram's reading.
Judged travel_left(Length stroke_limit, const Reading& ram);

}  // namespace standfast
