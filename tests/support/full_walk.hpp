// Where the engine has to look, found by a walk over everything: what its `Attention` is held against.
#pragma once

#include <optional>
#include <span>
#include <string>

#include "daemon/core/state.hpp"

namespace standfast::test {

// The first instant at which a channel goes stale if nothing comes.
std::optional<Instant> next_stale(std::span<const ChannelState> channels);

// Empty: the engine knows of everything that the walk finds. Else the first thing that it does not, or knows wrongly.
std::string overlooked(const State& state);

}  // namespace standfast::test
