// An act on its way to the engine, and the answer on its way back.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>

#include "daemon/core/act_kinds.hpp"
#include "daemon/core/action.hpp"
#include "daemon/core/effect.hpp"
#include "daemon/service/job_folder.hpp"

namespace standfast {

struct Answered {
  ActionAnswer answer;
  std::int64_t seq{0};   // Of the last row the act caused.
  bool recorded{false};  // That row is on the disk.
};

struct Asked {
  Action action;
  std::shared_ptr<const Revision> revision;  // The files meant by `offer` and `adopt`; else empty.
  std::function<void(const Answered&)> answer;  // Called once, on the engine's thread; must not block.
};

}  // namespace standfast
