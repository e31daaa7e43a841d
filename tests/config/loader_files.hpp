// Files of the source tree, read by the loader tests.
#pragma once

#include <fstream>
#include <sstream>
#include <stdexcept>
#include <string>

#include "config/load_rig.hpp"
#include "config/load_stages.hpp"

namespace standfast::test {

inline std::string bytes_of(const std::string& path) {
  std::ifstream file{std::string{SOURCE_ROOT} + "/" + path, std::ios::binary};
  if (!file) throw std::runtime_error{"no such file: " + path};
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

inline Rig rig_from(const std::string& path) {
  auto loaded = load_rig(bytes_of(path), path);
  if (!loaded.value) throw std::runtime_error{"does not load: " + path};
  return *loaded.value;
}

inline Plan plan_from(const std::string& path, const Rig& rig) {
  auto loaded = load_stages(bytes_of(path), path, rig);
  if (!loaded.value) throw std::runtime_error{"does not load: " + path};
  return *loaded.value;
}

inline const std::string grain_store = "config/examples/grain-store/";
inline const std::string good = "tests/config/corpus/good/";

}  // namespace standfast::test
