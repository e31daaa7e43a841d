// Load of a jack from its pressures, and sums of loads. N, Pa, m2.
#pragma once

#include <array>
#include <optional>

#include "config/rig.hpp"
#include "daemon/core/quantity/judged.hpp"

namespace standfast {

// Which way the ram last went, told by its pressure: it turns when the pressure has come back from its extreme by more
// than 1 % of the channel's range. Friction opposes the motion, so the two ways have two calibration curves.
enum class Direction : std::uint8_t { rising, falling };

struct JackState {
  Direction direction{Direction::rising};
  std::optional<double> extreme;  // Pa: the highest since rising, or the lowest since falling.

  template <class A>
  void visit(A& a) {
    a("direction", direction);
    a("extreme", extreme);
  }
};

void take_pressure(JackState& jack, const Channel& channel, const Reading& pressure);

struct LoadNumber { Force load; double slope{0}; bool beyond_calibration{false}; };  // slope: N per Pa, for uncertainty.

// Advance side alone: p A, or the certificate's curve of that direction, straight between its points and from the origin to
// the first. Beyond the last point the larger of the last stretch extended and p A. Where the certificate has no curve of
// the direction, the larger of the other one and p A.
LoadNumber advance_load(const Jack& jack, Pressure pressure, Direction direction);

// F = F(p_a) - p_r A_r. `retract` is looked at only where the jack has a retract side.
Judged jack_load(const Jack& jack, Direction direction, const Reading& advance, const Reading& retract);

// A sum of loads. Two jacks on one transducer are one piece of evidence, their uncertainties add as they stand; those of
// different transducers add in squares (JCGM 100:2008, 5.1.2 and 5.2.2). A bad part makes it bad.
struct LoadSum { Judged sum; int parts{0}, answering{0}; };  // "3 of 4 jacks".
class Loads {
 public:
  void add(const Judged& load, ChannelId transducer);
  LoadSum sum() const;

 private:
  Merge merge_{{Base::force, Per::none}};
  Sides value_;
  // The first `transducers_known_` of each: no more than a rig has jacks.
  std::array<ChannelId, most_jacks> transducers_;
  std::array<double, most_jacks> uncertainties_;
  std::size_t transducers_known_{0};
  int parts_{0}, answering_{0};
};

}  // namespace standfast
