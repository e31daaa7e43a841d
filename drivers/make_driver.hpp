// From the wire that rig.yaml states to the object that speaks it: the one table of kinds.
#pragma once

#include <memory>
#include <string>

#include "config/result.hpp"
#include "config/rig.hpp"
#include "drivers/driver.hpp"
#include "drivers/output_module.hpp"

namespace standfast {

// Nothing is connected yet. The error is for a person and does not repeat the bus's name: the kind of wire is not in this
// version, or the host is not an IP address. `clock` outlives what is made.
[[nodiscard]] Result<std::unique_ptr<Driver>, std::string> make_driver(const Bus& bus, const Clock& clock);

// On a connection of its own, even where `bus` is also read.
[[nodiscard]] Result<std::unique_ptr<OutputModule>, std::string> make_output_module(
    const OutputModuleStatement& statement, const Bus& bus, const Clock& clock);

}  // namespace standfast
