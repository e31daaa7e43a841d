// The plane through three or more points: how far it tilts. Slope as rad (m/m).
#pragma once

#include <optional>
#include <span>

#include "config/rig.hpp"
#include "daemon/core/quantity/judged.hpp"

namespace standfast {

struct PlanePoint { Position at; Judged height; };

struct Plane {
  double a{0}, b{0};   // z = c + a x + b y.
  double c{0};
};

// Least squares over centred normal equations; exact through three points. None where the points lie on one line: the
// narrow side of their scatter is less than a thousandth of the long one.
std::optional<Plane> fit_plane(std::span<const PlanePoint> points);  // Of the mean of high and low.

// sqrt(a2 + b2), the largest that any choice of the points' gauges gives, on both sides of the result: a magnitude has one
// side. A bad point makes it bad.
Judged tilt(std::span<const PlanePoint> points, Dimension dimension);

}  // namespace standfast
