// The thread that owns the output module. It writes a changed image at once and the same one ten times a second, so that
// the module's own watchdog is fed by it and by nothing else. A wedged module delays nobody but this thread.
#pragma once

#include <atomic>
#include <memory>
#include <thread>

#include "daemon/service/inbox.hpp"
#include "daemon/service/output_pass.hpp"

namespace standfast {

class OutputThread {
 public:
  struct Parts {
    std::unique_ptr<OutputModule> module;
    OutputPass::Settings settings;
  };
  OutputThread(Parts parts, const Clock& clock, Inbox& inbox);
  // Writes everything off (at most `last_tries` exchanges), then ends.
  ~OutputThread();
  OutputThread(const OutputThread&) = delete;
  OutputThread& operator=(const OutputThread&) = delete;

  void renew(const Wanted& wanted) { slot_.put(wanted); }

  // Counts exchanges, answered or not.
  std::int64_t progress() const { return progress_.load(); }

 private:
  static constexpr int last_tries = 3;

  void run();

  const Clock& clock_;
  Parts parts_;
  OutputPass pass_;
  WantedSlot slot_;
  Inbox& inbox_;
  std::atomic<std::int64_t> progress_{0};
  std::thread thread_;
};

}  // namespace standfast
