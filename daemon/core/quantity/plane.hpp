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

// How far the worst point lies from the plane through all the others, e / (1 - h): its distance e from the plane through
// all, by how little of it (1 - h, h its leverage) that plane left standing (deleted residual; Belsley, Kuh and Welsch 1980,
// 2.1, from memory). Its standard uncertainty is u / sqrt(1 - h). None where some point is left out and the others have no
// plane: of three each is free to lie where it likes.
struct OffPlane { double most{0}, uncertainty{0}; };  // m
std::optional<OffPlane> off_plane_of_others(std::span<const PlanePoint> points);  // Of the mean of high and low.

// sqrt(a2 + b2), the largest that any choice of the points' gauges gives, on both sides of the result: a magnitude has one
// side. A bad point makes it bad.
Judged tilt(std::span<const PlanePoint> points, Dimension dimension);

}  // namespace standfast
