#include "daemon/core/quantity/plane.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "config/ensure.hpp"

namespace standfast {
namespace {

constexpr std::size_t most_points = 16;
constexpr double least_width = 1e-3;  // Of the scatter, across over along.
constexpr double least_left = 1e-6;   // Of a point's own height: less, and the others nearly lie on one line.

struct Slope { double x{0}, y{0}; };
Slope operator+(Slope a, Slope b) { return {a.x + b.x, a.y + b.y}; }
Slope operator*(double f, Slope s) { return {f * s.x, f * s.y}; }
double dot(Slope a, Slope b) { return a.x * b.x + a.y * b.y; }

// What one metre of height at each point adds to the slope of the plane.
struct Weights {
  std::array<Slope, most_points> each{};
  double x_mean{0}, y_mean{0};
};

// Centred normal equations: with x, y from their means, [Sxx Sxy; Sxy Syy] [a b] = [Sxz Syz].
std::optional<Weights> weights_of(std::span<const PlanePoint> points) {
  ENSURE(points.size() <= most_points);  // The dictionary of quantities allows no more.
  if (points.size() < 3) return std::nullopt;
  Weights weights;
  const double n = static_cast<double>(points.size());
  for (const PlanePoint& p : points) {
    weights.x_mean += p.at.x / n;
    weights.y_mean += p.at.y / n;
  }
  double xx = 0, xy = 0, yy = 0;
  for (const PlanePoint& p : points) {
    const double x = p.at.x - weights.x_mean, y = p.at.y - weights.y_mean;
    xx += x * x;
    xy += x * y;
    yy += y * y;
  }
  const double determinant = xx * yy - xy * xy, trace = xx + yy;
  if (!(determinant > least_width * least_width * trace * trace)) return std::nullopt;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const double x = points[i].at.x - weights.x_mean, y = points[i].at.y - weights.y_mean;
    weights.each[i] = {(yy * x - xy * y) / determinant, (xx * y - xy * x) / determinant};
  }
  return weights;
}

// The end of the edge of all reachable slopes that lies furthest along `normal`; what stands square to it goes along `edge`.
Slope furthest(Slope middle, std::span<const Slope> reach, Slope normal, Slope edge) {
  for (const Slope& r : reach) {
    const double along = dot(normal, r);
    const bool forward = along != 0 ? along > 0 : dot(edge, r) >= 0;
    middle = middle + (forward ? 1.0 : -1.0) * r;
  }
  return middle;
}

// The slopes that the gauges allow, middle + sum of t_i reach_i with t_i from -1 to 1, fill a polygon whose edges are
// parallel to the reaches; the steepest is one of its corners.
double steepest(Slope middle, std::span<const Slope> reach) {
  double most = dot(middle, middle);
  for (const Slope& edge : reach) {
    if (dot(edge, edge) == 0) continue;
    for (const double side : {1.0, -1.0})
      for (const double end : {1.0, -1.0}) {
        const Slope corner = furthest(middle, reach, side * Slope{-edge.y, edge.x}, end * edge);
        most = std::max(most, dot(corner, corner));
      }
  }
  return std::sqrt(most);
}

double middle_of(const Judged& height) { return (height.high.value.si + height.low.value.si) / 2; }

}  // namespace

std::optional<Plane> fit_plane(std::span<const PlanePoint> points) {
  const auto weights = weights_of(points);
  if (!weights) return std::nullopt;
  Slope slope;
  double z_mean = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    slope = slope + middle_of(points[i].height) * weights->each[i];
    z_mean += middle_of(points[i].height) / static_cast<double>(points.size());
  }
  return Plane{slope.x, slope.y, z_mean - slope.x * weights->x_mean - slope.y * weights->y_mean};
}

std::optional<OffPlane> off_plane_of_others(std::span<const PlanePoint> points) {
  const auto weights = weights_of(points);
  const auto plane = fit_plane(points);
  if (!weights || !plane) return std::nullopt;
  OffPlane worst;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const PlanePoint& p = points[i];
    const Slope centred{p.at.x - weights->x_mean, p.at.y - weights->y_mean};
    const double left = 1 - 1 / static_cast<double>(points.size()) - dot(centred, weights->each[i]);
    if (!(left > least_left)) return std::nullopt;
    const double off = std::abs(middle_of(p.height) - (plane->c + plane->a * p.at.x + plane->b * p.at.y)) / left;
    if (off >= worst.most) worst = {off, p.height.high.uncertainty / std::sqrt(left)};
  }
  return worst;
}

Judged tilt(std::span<const PlanePoint> points, Dimension dimension) {
  Merge merge{dimension};
  for (const PlanePoint& p : points) merge.add(p.height);
  const auto weights = weights_of(points);
  if (!weights || merge.bad()) return merge.none(Cause::no_reference);
  Slope middle;
  std::array<Slope, most_points> reach{};
  double variance = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Judged& height = points[i].height;
    const Slope weight = weights->each[i];
    middle = middle + middle_of(height) * weight;
    reach[i] = (height.high.value.si - height.low.value.si) / 2 * weight;
    variance += height.high.uncertainty * height.high.uncertainty * dot(weight, weight);
  }
  const double most = steepest(middle, {reach.data(), points.size()});
  return merge.either_side({most, most}, std::sqrt(variance));
}

}  // namespace standfast
