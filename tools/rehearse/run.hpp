// Runs rehearsals through the real engine in simulated time: hours in milliseconds.
#pragma once

#include <filesystem>
#include <functional>
#include <string>
#include <vector>

#include "config/result.hpp"
#include "tools/rehearse/rehearsal.hpp"

namespace standfast::rehearse {

struct Failing {
  std::string file;
  Place place;
  Duration at;           // Since the start of this rehearsal.
  std::string what;      // "signal: expected HOLD, was within limits".
};

struct Outcome {
  std::string title;
  std::vector<Failing> failing;
  int checks{0};
};

// A rehearsal with everything that it follows, oldest first, all on the same rig and plan.
struct Prepared {
  struct Part { std::string file; Rehearsal rehearsal; };
  std::shared_ptr<const Job> job;
  std::vector<Part> parts;
};

// What the file is; unknown where it cannot be read.
FileKind kind_of_file(const std::filesystem::path& file);

// Reads the files; the error is findings as text, ready to print.
Result<Prepared, std::string> prepare(const std::filesystem::path& file);

// `seen`, if given, is called with every event and what came of it: a story, a record, a comparison.
using Seen = std::function<void(const Event&, const Effects&)>;
Outcome run(const Prepared& prepared, const Seen& seen = {});

}  // namespace standfast::rehearse
