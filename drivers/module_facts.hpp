// The output module's own settings, read from the registers that the rig states.
#pragma once

#include <optional>

#include "drivers/module_talk.hpp"
#include "drivers/output_module.hpp"

namespace standfast {

// None where the wire failed. A register that the module refuses, and one that the rig does not state, is not as stated:
// what nobody configured is never fine.
std::optional<ModuleFacts> read_module_facts(ModuleTalk& talk, const OutputModuleStatement& statement);

}  // namespace standfast
