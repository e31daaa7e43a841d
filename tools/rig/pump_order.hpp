// From the words of an order to pressures: what the technician does with the jacks' certificates before he pumps.
#pragma once

#include <optional>
#include <string>

#include "config/rig.hpp"
#include "tools/rig/pump.hpp"

namespace standfast::rig {

class Plant;
class WordReader;

std::optional<JackId> jack_named(const Rig& rig, const std::string& name);

// The pressure (Pa) at which the jack shows that load (N): by the certificate for that direction, straight between its
// points; by the piston area where there is none, and beyond its ends.
double pressure_for(const Jack& jack, double load, Direction direction);
// And back.
double load_shown(const Jack& jack, double pressure, Direction direction);

// Reads `J1 J3 to 120 kN [each] [, J2 J4 to 98 kN [each]] [at 2 kN/s]` and starts the pump. Throws Refusal.
std::string start_pump(Plant& plant, WordReader& words, Direction direction);

}  // namespace standfast::rig
