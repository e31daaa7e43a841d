// The column that is to be relieved, and the frame above it. The column is a short stiff spring on its footing: it gives
// up its load as its head rises, and carries nothing once the joint has opened (the knee). All SI.
#pragma once

namespace standfast::rig {

struct Column {
  double load{0};             // N, at the start.
  double stiffness{0};        // N/m, of the shaft: E A / l.
  double footing_stiffness{0};  // N/m, of the ground under the footing.

  // Of shaft and footing in series.
  constexpr double spring() const { return 1 / (1 / stiffness + 1 / footing_stiffness); }

  // Head rise at which the joint opens.
  constexpr double recovery() const { return load / spring(); }

  // What it still carries with its head raised by `rise`.
  constexpr double force(double rise) const {
    const double left = load - spring() * rise;
    return left > 0 ? left : 0;
  }
  constexpr double slope(double rise) const { return force(rise) > 0 ? spring() : 0; }

  // How far the footing has come up.
  constexpr double footing_rise(double rise) const { return (load - force(rise)) / footing_stiffness; }
};

struct Frame {
  double stiffness{0};       // N/m: the neighbours hold the head back when it rises.
  double added_weight{0};    // N, come on to the column head since the start (grain filled in or drawn off).

  // What presses on the column head beyond the column's load at the start.
  constexpr double force(double rise) const { return added_weight + stiffness * rise; }
};

}  // namespace standfast::rig
