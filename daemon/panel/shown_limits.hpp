// How the numbers of a limit appear: movements and all that can go either way carry their sign.
#pragma once

#include <string_view>

#include "config/stages.hpp"

namespace standfast {

// Does nought lie in the middle of what it can be? Then a positive number says so: +0.12 mm.
bool goes_both_ways(const QuantityRef& of);

// The limit of that name in the plan; null where there is none: what guards a jack by itself, or another plan's.
const Limit* limit_named(const Plan& plan, std::string_view name);

}  // namespace standfast
