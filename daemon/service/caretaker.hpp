// Once a second: has the wall clock been set, does every thread get on? Now and then: do the files on disk differ from
// those in force? Both tell the engine and the machine's keeper, and decide nothing.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "daemon/service/inbox.hpp"
#include "daemon/service/job_folder.hpp"
#include "daemon/service/service.hpp"
#include "drivers/driver.hpp"

namespace standfast {

class Caretaker {
 public:
  struct Parts {
    const Clock& clock;
    std::function<WallTime()> wall;
    Inbox& inbox;
  };
  explicit Caretaker(Parts parts) : parts_{std::move(parts)} {}

  // True: every thread got on since this was last true; the watchdog may be fed.
  bool look(const Service::Standing& standing);

 private:
  static constexpr Duration clock_step_least = milliseconds(500);

  void look_at_clock();
  bool all_got_on(const std::vector<std::int64_t>& progress);

  Parts parts_;
  std::optional<std::int64_t> wall_less_boot_ns_;
  std::vector<std::int64_t> progress_;
};

// May have to wait for a disk, so the worker looks.
class FileWatch {
 public:
  FileWatch(Inbox& inbox, const JobFolder& folder) : inbox_{inbox}, folder_{folder} {}
  void look(const Service::Standing& standing);

 private:
  struct Compared {
    std::string rig_sha256, plan_sha256;
    bool rig_differs, plan_differs;
    bool operator==(const Compared&) const = default;
  };
  Inbox& inbox_;
  const JobFolder& folder_;
  std::optional<Compared> told_;
};

}  // namespace standfast
