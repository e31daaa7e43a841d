// Once a second: has the wall clock been set, do the files on disk differ from those in force, does every thread get on?
// It tells the engine and the machine's keeper, and decides nothing. Used by the main thread, which has nothing else to do.
#pragma once

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
    const JobFolder& folder;
  };
  explicit Caretaker(Parts parts) : parts_{std::move(parts)} {}

  struct Told {
    bool alive{false};  // Every thread got on since this was last true: the watchdog may be fed.
    std::string headline;
  };
  Told look(const Service::Standing& standing);
  void look_at_files_soon() { looks_ = 0; }

 private:
  static constexpr Duration clock_step_least = milliseconds(500);
  static constexpr int looks_between_files = 5;

  void look_at_clock();
  void look_at_files(const Service::Standing& standing);
  bool all_got_on(const std::vector<std::int64_t>& progress);

  Parts parts_;
  std::optional<std::int64_t> wall_less_boot_ns_;
  struct Compared {
    std::string rig_sha256, plan_sha256;
    bool rig_differs, plan_differs;
    bool operator==(const Compared&) const = default;
  };
  std::optional<Compared> compared_;
  std::vector<std::int64_t> progress_;
  int looks_{0};
};

}  // namespace standfast
