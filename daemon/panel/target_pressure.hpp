// The pressure at which a jack carries a load: advance_load (daemon/core) turned round, by certificate or by area.
#pragma once

#include <optional>

#include "config/rig.hpp"
#include "daemon/core/quantity/load.hpp"

namespace standfast {

// `against`: the pressure on the retract side, where the jack has one. None where no pressure up to half as much again as
// its rating takes makes this load.
std::optional<Pressure> target_pressure(const Jack& jack, Force load, Direction way, Pressure against);

}  // namespace standfast
