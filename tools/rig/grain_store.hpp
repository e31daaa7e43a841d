// The invented grain store: the numbers of its column C4, its needles, towers, ground and oil.
#pragma once

#include "tools/rig/site.hpp"

namespace standfast::rig {

SiteStatement grain_store();

}  // namespace standfast::rig
