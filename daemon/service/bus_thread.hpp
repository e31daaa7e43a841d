// The thread that owns one bus: it asks for each block when it is due and hands every answer, or the flaw in its place, to
// the engine. A wedged bus delays nobody but this thread.
#pragma once

#include <atomic>
#include <condition_variable>
#include <memory>
#include <mutex>
#include <thread>
#include <vector>

#include "daemon/service/inbox.hpp"
#include "daemon/service/poll_schedule.hpp"
#include "drivers/driver.hpp"

namespace standfast {

class BusThread {
 public:
  struct Parts {
    std::unique_ptr<Driver> driver;
    std::vector<BlockId> ids;    // Of the blocks of this bus in the poll plan; at least one.
    std::vector<Block> blocks;
    Duration timeout{};          // For each request.
  };
  BusThread(Parts parts, const Clock& clock, Inbox& inbox);
  ~BusThread();
  BusThread(const BusThread&) = delete;
  BusThread& operator=(const BusThread&) = delete;

  // Asks the thread to end; the destructor waits for it, at most one request long.
  void end();
  // For each block in the order of `ids`.
  void set_periods(std::vector<Duration> periods);
  const std::vector<BlockId>& ids() const { return parts_.ids; }

  // Counts turns of the loop: each waits for at most a second and asks at most once, for at most `timeout` (10 ms to 5 s).
  std::int64_t progress() const { return progress_.load(); }

 private:
  static constexpr Duration longest_wait = seconds(1);

  void run();
  bool wait_until(Instant due);  // False: the end has come.

  Parts parts_;
  const Clock& clock_;
  Inbox& inbox_;
  PollSchedule schedule_;
  std::mutex mutex_;
  std::condition_variable changed_;
  std::vector<Duration> new_periods_;
  bool ending_{false};
  std::atomic<std::int64_t> progress_{0};
  std::thread thread_;
};

}  // namespace standfast
