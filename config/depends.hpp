// Which channels stand behind a quantity: what a scan makes fresh, and what a permit needs.
#pragma once

#include <vector>

#include "config/quantity_kinds.hpp"
#include "config/rig.hpp"

namespace standfast {

// Ascending, each once.
std::vector<ChannelId> channels_of(const QuantityRef& quantity, const Rig& rig);

// Is the rate of it taken gauge by gauge? Then the worst gauge's slope counts, and no gauge that drops out makes a step.
bool is_by_gauge(QuantityKind kind);

// Adds those of `more` that are not in `channels`; keeps it ascending.
void join(std::vector<ChannelId>& channels, const std::vector<ChannelId>& more);

}  // namespace standfast
