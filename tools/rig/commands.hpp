// What a person may say to the simulated rig, one line at a time; scripts and the control socket use the same words. `help`
// answers with the list of them (help_text.cpp).
//
// An answer begins with "done:" or "refused:", `state` and `help` apart.
#pragma once

#include <string>

namespace standfast::rig {

class Plant;

// Every command with what it does, several lines.
std::string help_text();

std::string obey_command(Plant& plant, const std::string& line);

}  // namespace standfast::rig
