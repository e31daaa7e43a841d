// A duration as a file would say it: `250 ms`, `10 min`, in the largest unit that leaves no fraction.
#pragma once

#include <string>

#include "config/instant.hpp"

namespace standfast {

std::string duration_text(Duration duration);

}  // namespace standfast
