#include "config/ensure.hpp"

#include <cstdio>
#include <cstdlib>

namespace standfast {

void ensure_failed(const char* condition, const char* file, int line) noexcept {
  std::fprintf(stderr, "standfast: broken invariant at %s:%d: %s\n", file, line, condition);
  std::abort();
}

}  // namespace standfast
