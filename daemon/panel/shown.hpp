// How an amount appears to a person: in the unit the rig asks for, never finer than such an instrument can know.
#pragma once

#include <string>

#include "config/rig.hpp"
#include "daemon/core/reading.hpp"

namespace standfast {

class Shown {
 public:
  // No rig: default units.
  explicit Shown(const Rig* rig) : rig_{rig} {}

  std::string text(const Amount& amount) const;
  // The number, or why there is none; with "~" in front where it is uncertain.
  std::string text(const Reading& reading) const;

 private:
  std::string unit(Dimension dimension) const;
  const Rig* rig_;
};

}  // namespace standfast
