// The one line that tells people what to do, where the plan states none. At most 60 characters.
#pragma once

#include <optional>
#include <string_view>

#include "config/stages.hpp"
#include "daemon/core/cause.hpp"

namespace standfast {

// For a limit's alarm in a stage of this kind (none: before the first stage).
std::string_view line_for_limit(std::optional<StageKind> kind, Level level);
// For a limit on a circuit's supply.
inline constexpr std::string_view line_for_supply = "Stop pumping. Keep pressure. A hose or coupler may be off.";
// For an alarm that no limit raised.
std::string_view line_for_cause(Cause cause, Level level);

}  // namespace standfast
