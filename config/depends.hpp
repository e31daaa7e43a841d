// Which channels stand behind a quantity: what a scan makes fresh, and what a permit needs.
#pragma once

#include <vector>

#include "config/quantity_kinds.hpp"
#include "config/rig.hpp"

namespace standfast {

// Ascending, each once.
std::vector<ChannelId> channels_of(const QuantityRef& quantity, const Rig& rig);

// Adds those of `more` that are not in `channels`; keeps it ascending.
void join(std::vector<ChannelId>& channels, const std::vector<ChannelId>& more);

}  // namespace standfast
