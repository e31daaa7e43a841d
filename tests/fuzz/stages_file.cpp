// Any bytes as stages.yaml, against the rig of the example: a list of findings or a plan, never a crash, soon.
#include <fstream>
#include <iterator>
#include <string>

#include "config/load_rig.hpp"
#include "config/load_stages.hpp"

using namespace standfast;

namespace {

Rig example_rig() {
  std::ifstream file{SOURCE_ROOT "/config/examples/grain-store/rig.yaml"};
  const std::string bytes{std::istreambuf_iterator<char>{file}, {}};
  auto loaded = load_rig(bytes, "rig.yaml");
  ENSURE(loaded.value.has_value());
  return *std::move(loaded.value);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const Rig rig = example_rig();
  const auto loaded = load_stages({reinterpret_cast<const char*>(data), size}, "stages.yaml", rig);
  ENSURE(loaded.value || !loaded.findings.empty());
  return 0;
}
