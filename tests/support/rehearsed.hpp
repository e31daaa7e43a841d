// The events of a rehearsal, as the engine saw them: to be told again, in other ways.
#pragma once

#include <string>
#include <vector>

#include "tools/rehearse/run.hpp"

namespace standfast::test {

struct Rehearsed {
  std::shared_ptr<const Job> job;
  std::vector<Event> events;
};

// `name`: a file of tests/scenarios without its ending. Fails the test that asks if it does not go as it says.
Rehearsed rehearsed(const std::string& name);

}  // namespace standfast::test
