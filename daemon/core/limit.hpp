// Is one quantity beyond one bound, for long enough? No IO, no clock, no log, no throw.
//
// `persist` is a budget, like water in a bucket with a small hole: it fills while the value is beyond and drains at a
// quarter of that speed while it is not, so a flickering violation cannot escape for ever. The interval between two
// readings belongs to the earlier one. A trip may ripen on memory; a clearance needs fresh evidence.
#pragma once

#include <cstdint>
#include <optional>

#include "config/instant.hpp"
#include "config/stages.hpp"
#include "config/units.hpp"
#include "daemon/core/quantity/judged.hpp"

namespace standfast {

// One level of one limit with its bound worked out in SI for the step now due.
struct LevelInForce {
  std::optional<Amount> above, below;
  double deadband{0};
  Duration persist{}, clear_after{};
  bool guard_uncertainty{false};
};

enum class Filling : std::uint8_t { idle, filling, draining, standing };

// Everything one level remembers: printed, stored and rebuilt as it stands.
struct Watch {
  std::int64_t quarters{0};           // Budget used, in quarters of a nanosecond: whole numbers both ways.
  Instant at{};                       // Up to when the budget is accounted.
  Filling filling{Filling::idle};
  bool active{false};
  std::int32_t beyond_readings{0};    // Since the budget was last empty; one alone never trips.
  Instant first_beyond{};             // When the newest part of the first of them was read.
  std::optional<Instant> within_since;  // While active: since when good readings lie within, deadband included.

  template <class A>
  void visit(A& a) {
    a("quarters", quarters);
    a("at", at);
    a("filling", filling);
    a("beyond_readings", beyond_readings);
    a("first_beyond", first_beyond);
    a("active", active);
    a("within_since", within_since);
  }
};

inline constexpr std::int32_t least_readings_to_trip = 2;

// Is the value beyond the bound, moved inward by `slack` (SI, not negative)? At the bound is within. A saturated value
// is beyond every bound on its side; a bad one is beyond nothing.
bool is_beyond(const LevelInForce& level, const Judged& value, double slack);

// Is the value within, and the bound not farther away than its expanded uncertainty (k = 2)? Words for people: it decides
// nothing, and is never said of a bound that `guard_uncertainty` has already moved inward.
bool cannot_exclude(const LevelInForce& level, const Judged& value);

// Accounts the time up to `now`; trips at the instant the budget fills.
Watch passed(const LevelInForce& level, Watch watch, Instant now);

// Does a value beyond rest on a reading of its own, or only on the one that was counted first?
enum class Evidence : std::uint8_t { fresh, repeated };

struct Seen { Evidence evidence{}; Instant newest{}; };  // newest: of the parts behind the value.

// Takes one fresh reading at `now`, up to which the time has been accounted. One that only repeats the first fills the
// budget on and is no second reading beyond.
Watch observed(const LevelInForce& level, Watch watch, const Judged& value, Instant now, const Seen& seen);

// A value beyond that a person entered twice: it is two readings, and `persist` does not apply, so it trips at once.
Watch tripped_by_entry(const LevelInForce& level, Watch watch, Instant newest);

// Its gate has closed: the condition is over, and a budget that had not filled drains from now on.
Watch out_of_force(Watch watch);

// The instant at which time alone trips this level; none if it never does.
std::optional<Instant> trips_at(const LevelInForce& level, const Watch& watch);

}  // namespace standfast
