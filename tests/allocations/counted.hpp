// How often this thread asked for memory: the program's own operator new, counted. What C libraries take by malloc is not
// seen. One program of its own, because the operator is replaced for all of it.
#pragma once

#include <cstdint>

namespace standfast::test {

// Of this thread, since it began.
std::int64_t allocations();

// What `work` asked for.
template <class Work>
std::int64_t allocations_of(Work work) {
  const std::int64_t before = allocations();
  work();
  return allocations() - before;
}

}  // namespace standfast::test
