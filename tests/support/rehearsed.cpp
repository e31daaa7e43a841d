#include "tests/support/rehearsed.hpp"

#include <stdexcept>

namespace standfast::test {

Rehearsed rehearsed(const std::string& name) {
  const auto prepared = rehearse::prepare(std::string(TEST_DATA "/scenarios/") + name + ".yaml");
  if (!prepared) throw std::runtime_error(prepared.error());
  Rehearsed result{prepared->job, {}};
  const auto outcome = rehearse::run(*prepared, [&](const Event& event, const Effects&) { result.events.push_back(event); });
  if (!outcome.failing.empty()) throw std::runtime_error(name + ": " + outcome.failing[0].what);
  return result;
}

}  // namespace standfast::test
