// The pump, and the hand of the technician on it: an order names jacks, pressures and a speed. It runs only while the
// contact of the permit lets it, stops where the contact opens and waits for a new order; what it pumped stays behind the
// check valves. All SI.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "tools/rig/site.hpp"

namespace standfast::rig {

enum class Direction : std::uint8_t { raise, lower };

struct PumpOrder {
  Direction direction{};
  struct Share { std::size_t leg; double pressure; };
  std::vector<Share> jacks;  // All go in proportion and arrive together.
  double seconds{0};         // How long they take.
};

enum class PumpState : std::uint8_t { idle, running, done, permit_went, stopped, relief, stuck };
std::string_view name_of(PumpState state);

class Pump {
 public:
  explicit Pump(double relief_pressure) : relief_{relief_pressure} {}

  void start(const PumpOrder& order, const Site& site);
  void stop();
  // A half-open coupler: that jack's pressure cannot rise faster (Pa/s). None: nothing is in the way.
  void choke(std::size_t leg, std::optional<double> pascal_per_second);
  void burst_hose(bool burst) { hose_burst_ = burst; }  // Behind it the check valves hold; the pump delivers nothing.
  // `permitted`: the contacts in the way of this direction are closed.
  void step(Site& site, double seconds, bool permitted);

  PumpState state() const { return state_; }
  Direction direction() const { return order_.direction; }
  bool running() const { return state_ == PumpState::running; }
  double delivery_pressure(const Site& site) const;  // What a gauge at the pump reads.

 private:
  void push(Site& site, double part, double seconds);
  bool arrived(const Site& site) const;

  double relief_;
  PumpOrder order_;
  std::vector<double> from_;
  double elapsed_{0};
  std::array<std::optional<double>, leg_count> chokes_{};
  bool hose_burst_{false};
  PumpState state_{PumpState::idle};
};

}  // namespace standfast::rig
