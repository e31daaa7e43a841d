// Any text as a snapshot: refused, or a state whose own snapshot reads back to the same text.
#include <string>

#include "daemon/core/engine.hpp"

using namespace standfast;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string text{reinterpret_cast<const char*>(data), size};
  const auto engine = Engine::from_snapshot(text, nullptr);
  if (!engine) return 0;
  const std::string again = engine->snapshot();
  const auto twice = Engine::from_snapshot(again, nullptr);
  ENSURE(twice && twice->snapshot() == again);
  return 0;
}
