// The commands about wires, units and the output module; see commands.hpp. Each reads its line to the end before it does
// anything, and throws Refusal.
#pragma once

#include <string>

#include "tools/rig/words.hpp"

namespace standfast::rig {

class Plant;

std::string module(Plant& plant, WordReader& words);
std::string unit(Plant& plant, WordReader& words);
std::string wire(Plant& plant, WordReader& words);
std::string contact(Plant& plant, WordReader& words);
std::string second(Plant& plant, WordReader& words);

// False where neither a wire nor an output has that name.
bool mend_wire_or_contact(Plant& plant, const std::string& name);

}  // namespace standfast::rig
