// The simulated site: a column between two needle beams, a jack and a tower under each of the four beam ends. It obeys
// statics at every step and knows nothing of what watches it. All SI; positions in plan from the column's axis.
//
// Pure: the same statement, oil and steps give the same numbers. It holds the oil that is in each jack and never lets any
// out by itself: only `add_oil` with a negative amount (a hand on a valve) and a leak do.
#pragma once

#include <array>
#include <cstddef>
#include <optional>

#include "config/instant.hpp"
#include "tools/rig/beam.hpp"
#include "tools/rig/column.hpp"
#include "tools/rig/leg.hpp"
#include "tools/rig/linear.hpp"
#include "tools/rig/temperature.hpp"
#include "tools/rig/tower.hpp"

namespace standfast::rig {

inline constexpr std::size_t leg_count = 4;

struct LegPlace {
  double x{0}, y{0};  // m; beam 1 is in front (y < 0), beam 2 behind; end A is at x < 0, end B at x > 0.
};

struct SiteStatement {
  Column column;
  Frame frame;
  BeamSection beam;
  Tower tower;
  Ground ground;
  Bedding bedding;
  Friction friction;
  std::array<LegPlace, leg_count> places{};
  double collar_stiffness{0};  // N m/rad: how the column holds one beam against turning about the clamp.
  double roll_stiffness{0};    // N m/rad: how it holds the pair against rolling over.
  double piston_area{0};       // m2
  double oil_column{0};        // m, length of the oil under the ram and in its hose.
  double oil_modulus{0};       // Pa
  double oil_expansion{0};     // 1/K
  Weather weather;
  double tower_time_constant{1800}, oil_time_constant{2400};  // s
  double sun_on_tower_b{0};    // K
};

class Site {
 public:
  explicit Site(const SiteStatement& statement);

  void step(Duration dt);

  void add_oil(std::size_t leg, double travel);  // m of ram travel without pressure.
  void set_leak(std::size_t leg, double pascal_per_second);  // As seen while the beam's root stands still.
  // The oil on the rod side, of that area, is shut in from now on, or let go again.
  void block_return(std::size_t leg, double rod_side_area);
  void open_return(std::size_t leg);
  void add_weight(double newton);
  void hold_head(double rise);  // Something else holds the head at this rise, whatever the jacks do.
  void let_head_go();
  void sink_base(std::size_t leg, double metre);  // The ground gives way under one tower.

  double load(std::size_t leg) const { return state_[leg].load; }
  double pressure(std::size_t leg) const { return state_[leg].ram_force / said_.piston_area; }
  double travel(std::size_t leg) const { return state_[leg].travel; }
  double back_force(std::size_t leg) const { return state_[leg].back_force; }
  // How much oil, as travel, raises the pressure by one pascal while the beam's root stands still.
  double oil_for_pressure(std::size_t leg) const { return said_.piston_area / state_[leg].oil_gain; }
  double total_load() const;
  double head() const { return place_[0]; }
  double tilt(std::size_t beam) const { return place_[1 + beam]; }
  double column_force() const { return said_.column.force(head()); }
  double column_base() const { return said_.column.footing_rise(head()); }
  double held_force() const { return held_force_; }  // What `hold_head` needs; upwards positive.
  double tower_base(std::size_t leg) const { return -legs_[leg].ground.settlement(state_[leg].load); }
  double air() const { return said_.weather.air(elapsed_.seconds()); }
  double tower_temperature(std::size_t leg) const { return towers_[leg].temperature; }
  const LegPlace& at(std::size_t leg) const { return said_.places[leg]; }
  double piston_area() const { return said_.piston_area; }
  Duration elapsed() const { return elapsed_; }

 private:
  // Head rise, turn of beam 1, turn of beam 2, roll of the pair.
  using Place = Vector<4>;
  struct Balance { Place out; Matrix<4> stiffness; std::array<LegState, leg_count> legs; };

  double root_rise(std::size_t leg, const Place& place) const;
  Place lever(std::size_t leg) const;
  Balance balance(const Place& place) const;
  void find_balance();
  void warm(double seconds);
  void leak(double seconds);
  void remember();

  SiteStatement said_;
  std::array<Leg, leg_count> legs_{};
  std::array<LegState, leg_count> state_{};
  std::array<Warmth, leg_count> towers_{};
  Warmth oil_;
  std::array<double, leg_count> leaks_{};
  std::optional<double> held_head_;
  double held_force_{0};
  Place place_{};
  Duration elapsed_{};
};

}  // namespace standfast::rig
