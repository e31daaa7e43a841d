// Any bytes as rig.yaml: a list of findings or a rig, never a crash, soon.
#include <string_view>

#include "config/load_rig.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto loaded = standfast::load_rig({reinterpret_cast<const char*>(data), size}, "rig.yaml");
  ENSURE(loaded.value || !loaded.findings.empty());
  return 0;
}
