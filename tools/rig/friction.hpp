// Seal friction of a ram: raising, the oil carries load and friction; lowering, it carries the load less friction. Between
// the two the seal clings and gives elastically, so a ram that stands keeps what it had. All SI.
#pragma once

#include <algorithm>

namespace standfast::rig {

struct Friction {
  double fraction{0};      // Of the load, as a limit of the friction force.
  double cling{0};         // N/m: how stiffly the seal clings before it slips.
  double held{0};          // N, at the last standstill; positive while raising.
  double held_at{0};       // m, the ram travel there.

  double force(double load, double travel) const {
    const double most = fraction * load;
    return std::clamp(held + cling * (travel - held_at), -most, most);
  }
  // Derivatives of the force with travel and with load.
  struct Slopes { double with_travel, with_load; };
  Slopes slopes(double load, double travel) const {
    const double free = held + cling * (travel - held_at);
    const double most = fraction * load;
    if (free > most) return {0, fraction};
    if (free < -most) return {0, -fraction};
    return {cling, 0};
  }
  void remember(double load, double travel) {
    held = force(load, travel);
    held_at = travel;
  }
};

}  // namespace standfast::rig
