#include "tools/rig/site.hpp"

#include <cmath>

#include "config/ensure.hpp"

namespace standfast::rig {
namespace {

constexpr double near_enough = 1e-3;  // N (and N m): one part in 1e9 of the loads.

double square(const Vector<4>& v) {
  double sum = 0;
  for (const double x : v) sum += x * x;
  return sum;
}

}  // namespace

Site::Site(const SiteStatement& statement) : said_{statement} {
  const double air = said_.weather.air(0);
  oil_ = {air, said_.oil_time_constant, 0};
  for (std::size_t i = 0; i < leg_count; ++i) {
    legs_[i].elastic_compliance = end_compliance(said_.beam, said_.places[i].x) + said_.tower.compliance();
    legs_[i].oil_stiffness = said_.oil_modulus * said_.piston_area / said_.oil_column;
    legs_[i].bedding = said_.bedding;
    legs_[i].ground = said_.ground;
    legs_[i].friction = said_.friction;
    const double sun = said_.places[i].x > 0 ? said_.sun_on_tower_b : 0;
    towers_[i] = {air + sun, said_.tower_time_constant, sun};
  }
  find_balance();
}

void Site::step(Duration dt) {
  ENSURE(dt.ns > 0);
  elapsed_ = elapsed_ + dt;
  const double seconds = dt.seconds();
  warm(seconds);
  leak(seconds);
  for (std::size_t i = 0; i < leg_count; ++i) legs_[i].ground.creep(state_[i].load, seconds);
  find_balance();
  remember();
}

void Site::warm(double seconds) {
  const double oil_before = oil_.temperature;
  oil_.follow(air(), seconds);
  const double swelling = said_.oil_expansion * said_.oil_column * (oil_.temperature - oil_before);
  for (std::size_t i = 0; i < leg_count; ++i) {
    const double before = towers_[i].temperature;
    towers_[i].follow(air(), seconds);
    legs_[i].growth += said_.tower.growth(towers_[i].temperature - before);
    if (state_[i].load > 0) legs_[i].oil += swelling;  // An idle jack breathes through its open line.
  }
}

void Site::leak(double seconds) {
  for (std::size_t i = 0; i < leg_count; ++i) {
    if (state_[i].load > 0) legs_[i].oil -= leaks_[i] * seconds * oil_for_pressure(i);
  }
}

void Site::add_oil(std::size_t leg, double travel) {
  legs_.at(leg).oil += travel;
  if (legs_[leg].oil < 0) legs_[leg].oil = 0;  // The ram is in.
}

void Site::set_leak(std::size_t leg, double pascal_per_second) { leaks_.at(leg) = pascal_per_second; }
void Site::block_return(std::size_t leg, double rod_side_area) {
  legs_.at(leg).return_from = state_[leg].travel;
  legs_[leg].return_stiffness = said_.oil_modulus * rod_side_area / said_.oil_column;
}
void Site::open_return(std::size_t leg) { legs_.at(leg).return_stiffness = 0; }
void Site::add_weight(double newton) { said_.frame.added_weight += newton; }
void Site::hold_head(double rise) { held_head_ = rise; }
void Site::let_head_go() { held_head_.reset(); }
void Site::sink_base(std::size_t leg, double metre) { legs_.at(leg).ground.crept += metre; }

double Site::total_load() const {
  double sum = 0;
  for (const LegState& leg : state_) sum += leg.load;
  return sum;
}

// How the root of the beam at a leg moves with each part of `Place`.
Site::Place Site::lever(std::size_t leg) const {
  const LegPlace& at = said_.places[leg];
  const bool behind = at.y > 0;
  return {1, behind ? 0 : at.x, behind ? at.x : 0, at.y};
}

double Site::root_rise(std::size_t leg, const Place& place) const {
  const Place arm = lever(leg);
  double rise = 0;
  for (std::size_t n = 0; n < place.size(); ++n) rise += arm[n] * place[n];
  return rise;
}

// What is out of balance at this place (upwards, and turning), and how stiffly the site answers to a change of place.
Site::Balance Site::balance(const Place& place) const {
  Balance b;
  const double held[4] = {said_.frame.stiffness + said_.column.slope(place[0]), said_.collar_stiffness,
                          said_.collar_stiffness, said_.roll_stiffness};
  b.out = {said_.column.force(place[0]) - said_.column.load - said_.frame.force(place[0]),
           -held[1] * place[1], -held[2] * place[2], -held[3] * place[3]};
  b.stiffness = {};
  for (std::size_t n = 0; n < 4; ++n) b.stiffness[n][n] = held[n];
  for (std::size_t i = 0; i < leg_count; ++i) {
    const Place arm = lever(i);
    const LegState& leg = b.legs[i] = legs_[i].under(root_rise(i, place), state_[i].load);
    for (std::size_t n = 0; n < 4; ++n) {
      b.out[n] += arm[n] * leg.load;
      for (std::size_t m = 0; m < 4; ++m) b.stiffness[n][m] += arm[n] * arm[m] * leg.softening;
    }
  }
  if (held_head_) {
    b.out[0] = 0;
    for (std::size_t n = 1; n < 4; ++n) b.stiffness[0][n] = b.stiffness[n][0] = 0;
  }
  return b;
}

// Every spring here only stiffens against its own way, so there is one balance; Newton's steps, halved where they would
// make it worse, find it across knee, slip and lift-off.
void Site::find_balance() {
  if (held_head_) place_[0] = *held_head_;
  Balance now = balance(place_);
  for (int i = 0; i < 100 && square(now.out) > near_enough * near_enough; ++i) {
    const Place way = solve(now.stiffness, now.out);
    double part = 1;
    for (int halved = 0; halved < 30; ++halved, part /= 2) {
      Place next = place_;
      for (std::size_t n = 0; n < 4; ++n) next[n] += part * way[n];
      const Balance there = balance(next);
      if (square(there.out) < square(now.out) || halved == 29) {
        place_ = next;
        now = there;
        break;
      }
    }
  }
  state_ = now.legs;
  held_force_ = held_head_ ? said_.column.load + said_.frame.force(head()) - column_force() - total_load() : 0;
}

void Site::remember() {
  for (std::size_t i = 0; i < leg_count; ++i) {
    legs_[i].bedding.remember(state_[i].load);
    legs_[i].friction.remember(state_[i].load, state_[i].travel);
  }
}

}  // namespace standfast::rig
