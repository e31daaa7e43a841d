// A file that was read: what it says, if there is no error in it, and all that is to be said about it.
#pragma once

#include <optional>

#include "config/finding.hpp"

namespace standfast {

template <class T>
struct Loaded {
  std::optional<T> value;  // None where a finding is an error.
  Findings findings;       // In file order.
};

}  // namespace standfast
