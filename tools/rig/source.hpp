// What each channel of the rig file is fastened to on the simulated site.
#pragma once

#include <string>
#include <vector>

#include "config/result.hpp"
#include "config/rig.hpp"
#include "tools/rig/site.hpp"

namespace standfast::rig {

enum class Quantity : std::uint8_t {
  jack_pressure, return_pressure, pump_pressure, ram_travel, head, column_base, tower_base, steel_temperature,
  air_temperature
};

struct Source {
  Quantity quantity{};
  std::vector<std::size_t> legs;  // One, or several whose mean is taken.
  bool up_is_positive{true};
  double area{0};  // m2, of the rod side whose pressure it is.
  bool check_valve{true};  // Between the place of a pump's transducer and the jack.
};

struct Fastening {
  std::vector<Source> channels;      // One for each channel of the rig.
  std::vector<std::size_t> jack_leg;  // One for each jack of the rig.
};

// By the jacks' and points' places in plan; a point is the head, the column's base or a tower's base by the beginning of
// its name (HEAD, COLUMN, BASE or TOWER); thermometers are, in the order of the file, tower A, tower B, air. Fails with a
// sentence where the rig states something that this site does not have.
Result<Fastening, std::string> fasten(const Rig& rig, const SiteStatement& site);

// The true value in SI; `pump_pressure` is what the pump delivers. Where nothing holds the oil back, a transducer at the pump
// reads the jack's pressure while the pump stands.
double true_value(const Source& source, const Site& site, double pump_pressure);

}  // namespace standfast::rig
