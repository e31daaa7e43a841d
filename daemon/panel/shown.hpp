// How an amount appears to a person: in the unit the rig asks for, never finer than such an instrument can know.
#pragma once

#include <cstdint>
#include <string>

#include "config/rig.hpp"
#include "daemon/core/reading.hpp"

namespace standfast {

// A movement says which way it went, upwards too; what is nought as shown has no sign.
enum class Sign : std::uint8_t { minus, both };

class Shown {
 public:
  // No rig: default units.
  explicit Shown(const Rig* rig) : rig_{rig} {}

  std::string text(const Amount& amount, Sign sign = Sign::minus, int least_decimals = 0) const;
  // So many decimals say all of an amount that a person stated: a bound of 0.004 mm/min must not read 0.00.
  int decimals_to_say(const Amount& stated) const;
  // So many that a bound which was worked out is shown to 1 % of itself: neither 0.00 nor 203.51234 kN.
  int decimals_of_bound(const Amount& bound) const;
  // The number, or why there is none; with "~" in front where it is uncertain.
  std::string text(const Reading& reading, Sign sign = Sign::minus, int least_decimals = 0) const;

 private:
  std::string unit(Dimension dimension) const;
  const Rig* rig_;
};

}  // namespace standfast
