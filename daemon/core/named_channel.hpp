// A channel as a person names it.
#pragma once

#include <string>

#include "config/result.hpp"
#include "daemon/core/refusal.hpp"

namespace standfast {

struct State;
struct Action;

// Its place in the rig.
Result<std::size_t, Refusal> channel_named(const State& state, const std::string& name);

// Is who acts one of these two? Whoever asked for a thing does not approve it.
bool acts_as_one_of(const Action& action, const std::string& one, const std::string& other);

}  // namespace standfast
