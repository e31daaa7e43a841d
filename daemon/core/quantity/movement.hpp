// Movement of points and rams against a reference. m, up positive.
#pragma once

#include <optional>
#include <span>

#include "config/rig.hpp"
#include "daemon/core/quantity/judged.hpp"
#include "daemon/core/quantity/mark.hpp"

namespace standfast {

// A reading less its reference; `sign` -1 where the instrument counts downwards. u2 = u2(reading) + s2(reference).
Judged change_since(const Reading& reading, const std::optional<MarkValue>& since, Dimension dimension, double sign);

struct PointMovement {
  Judged worst;   // high: the highest gauge, low: the lowest. What limits compare.
  Reading mean;   // Only for show.
  int gauges{0}, answering{0};
};

// Of the gauges' movements. A bad gauge leaves its twin to guard; bad only where all are. Gauges further apart than
// `agree_within` make both sides uncertain.
PointMovement point_movement(std::span<const Judged> gauges, std::optional<Length> agree_within);

// The largest difference between the gauges of a point, from two that answer; with one alone there is no number.
Judged agreement(std::span<const Judged> gauges);

// u_a - u_b.
Judged difference(const Judged& a, const Judged& b, Dimension dimension);

// (u_1 + u_3) - (u_2 + u_4) over corners in order: what a plane cannot show.
Judged warp(std::span<const Judged, 4> corners, Dimension dimension);

// Stroke limit less the ram's reading.
Judged travel_left(Length stroke_limit, const Reading& ram);

}  // namespace standfast
