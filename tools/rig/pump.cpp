#include "tools/rig/pump.hpp"

#include <algorithm>
#include <cmath>

namespace standfast::rig {
namespace {

constexpr double near_enough = 2e3;         // Pa: a fiftieth of a bar.
constexpr double line_loss = 2e5;           // Pa between pump and jack while oil flows.
constexpr double caution = 0.7;             // Of the missing oil each step, so that nothing overshoots.
constexpr double patience = 120;            // s beyond the time the order should take.

}  // namespace

std::string_view name_of(PumpState state) {
  switch (state) {
    case PumpState::idle: return "idle";
    case PumpState::running: return "running";
    case PumpState::done: return "done";
    case PumpState::permit_went: return "stopped: no permit";
    case PumpState::stopped: return "stopped by hand";
    case PumpState::relief: return "stopped: relief valve";
    case PumpState::stuck: return "stopped: pressure not reached";
  }
  return "";
}

void Pump::start(const PumpOrder& order, const Site& site) {
  order_ = order;
  from_.clear();
  for (const auto& jack : order_.jacks) from_.push_back(site.pressure(jack.leg));
  elapsed_ = 0;
  state_ = PumpState::running;
}

void Pump::stop() {
  if (running()) state_ = PumpState::stopped;
}

void Pump::choke(std::size_t leg, std::optional<double> pascal_per_second) { chokes_.at(leg) = pascal_per_second; }

void Pump::step(Site& site, double seconds, bool permitted) {
  if (!running()) return;
  if (!permitted) {
    state_ = PumpState::permit_went;
    return;
  }
  elapsed_ += seconds;
  const double part = order_.seconds > 0 ? std::min(1.0, elapsed_ / order_.seconds) : 1.0;
  push(site, part, seconds);
  if (!running()) return;
  if (part >= 1 && arrived(site)) state_ = PumpState::done;
  else if (elapsed_ > order_.seconds + patience) state_ = PumpState::stuck;
}

// A pump only adds oil and a valve only lets it out: a jack that is ahead of its share waits.
void Pump::push(Site& site, double part, double seconds) {
  if (hose_burst_) return;
  const double sign = order_.direction == Direction::raise ? 1 : -1;
  for (std::size_t n = 0; n < order_.jacks.size(); ++n) {
    const auto& jack = order_.jacks[n];
    const double wanted = from_[n] + part * (jack.pressure - from_[n]);
    const double missing = (wanted - site.pressure(jack.leg)) * sign;
    if (missing <= 0) continue;
    if (sign > 0 && site.pressure(jack.leg) >= relief_) {
      state_ = PumpState::relief;
      return;
    }
    const double most = chokes_[jack.leg] ? *chokes_[jack.leg] * seconds : missing;
    site.add_oil(jack.leg, sign * std::min(caution * missing, most) * site.oil_for_pressure(jack.leg));
  }
}

bool Pump::arrived(const Site& site) const {
  const double sign = order_.direction == Direction::raise ? 1 : -1;
  return std::all_of(order_.jacks.begin(), order_.jacks.end(), [&](const PumpOrder::Share& jack) {
    return (jack.pressure - site.pressure(jack.leg)) * sign <= near_enough;
  });
}

double Pump::delivery_pressure(const Site& site) const {
  if (!running() || hose_burst_ || order_.direction == Direction::lower) return 0;
  double most = 0;
  for (const auto& jack : order_.jacks) most = std::max(most, site.pressure(jack.leg));
  return most + line_loss;
}

}  // namespace standfast::rig
