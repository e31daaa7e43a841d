// Mean, deviation and least-squares line, each in a stated order of operations, so that the same numbers give the same bits.
// Nothing is ever computed as a difference of two large sums.
#pragma once

#include <cmath>
#include <cstddef>
#include <cstdint>

namespace standfast {

// Mean and deviation of numbers that come one by one. B. P. Welford, Technometrics 4 (1962) 419.
struct Spread {
  std::int64_t count{0};
  double mean{0};
  double squares{0};  // Sum of squared deviations from the mean.

  void add(double value);
  double deviation() const;       // Of the sample (n - 1); 0 below two numbers.
  double standard_error() const;  // Of the mean; 0 below two numbers.

  template <class A>
  void visit(A& a) {
    a("count", count);
    a("mean", mean);
    a("squares", squares);
  }
};

struct XY { double x{0}, y{0}; };

struct Line {
  double slope{0}, intercept{0};
  double slope_error{0};  // Standard error of the slope.
  double deviation{0};    // Residual standard deviation, n - 2 degrees of freedom.
};

// The line through `count` points `at(0) ... at(count - 1)` with the least sum of squared residuals in y. At least three
// points, not all at one x: the caller has checked. Order: x and y are taken from the first point's, their means summed in
// index order, then the centred sums, then the residuals, each in index order. Draper and Smith, Applied Regression
// Analysis, section 1.2.
template <class At>
Line fit_line(std::size_t count, At at) {
  const double n = static_cast<double>(count);
  const XY first = at(std::size_t{0});
  double x_mean = 0, y_mean = 0;
  for (std::size_t i = 0; i < count; ++i) {
    const XY p = at(i);
    x_mean += p.x - first.x;
    y_mean += p.y - first.y;
  }
  x_mean /= n;
  y_mean /= n;
  double xx = 0, xy = 0;
  for (std::size_t i = 0; i < count; ++i) {
    const XY p = at(i);
    const double x = (p.x - first.x) - x_mean, y = (p.y - first.y) - y_mean;
    xx += x * x;
    xy += x * y;
  }
  Line line;
  line.slope = xy / xx;
  double residuals = 0;
  for (std::size_t i = 0; i < count; ++i) {
    const XY p = at(i);
    const double r = ((p.y - first.y) - y_mean) - line.slope * ((p.x - first.x) - x_mean);
    residuals += r * r;
  }
  line.intercept = (first.y + y_mean) - line.slope * (first.x + x_mean);
  line.deviation = std::sqrt(residuals / (n - 2.0));
  line.slope_error = line.deviation / std::sqrt(xx);
  return line;
}

}  // namespace standfast
