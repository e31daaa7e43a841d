// No wrong number may ever become a value. Decoded here anew, and not with the daemon's codec, so that both cannot be wrong
// alike.
#pragma once

#include <optional>
#include <string>

#include "daemon/core/state.hpp"
#include "tools/rig/modbus_answer.hpp"

namespace standfast::test {

// After the engine has taken `scan`. `said`: function and data of what the unit itself answered. Empty: each number that the
// engine now holds from this scan is the one that the instrument said; else which is not.
std::string untruth(const Job& job, const Scan& scan, const std::optional<rig::Bytes>& said, const State& state);

}  // namespace standfast::test
