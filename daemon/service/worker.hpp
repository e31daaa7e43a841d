// Does what may have to wait for a disk, one thing after the other, so that those who must never wait do not do it.
#pragma once

#include <condition_variable>
#include <functional>
#include <mutex>
#include <thread>

#include "daemon/service/bounded_queue.hpp"

namespace standfast {

class Worker {
 public:
  Worker() : thread_{[this] { work(); }} {}
  ~Worker() { end(); }
  Worker(const Worker&) = delete;
  Worker& operator=(const Worker&) = delete;

  // Finishes what is in hand; what still waits is dropped. Whoever gave tasks may be gone only after it.
  void end() {
    {
      const std::lock_guard lock{mutex_};
      ending_ = true;
    }
    changed_.notify_one();
    if (thread_.joinable()) thread_.join();
  }

  // False: too much waits already.
  [[nodiscard]] bool run(std::function<void()> task) {
    {
      const std::lock_guard lock{mutex_};
      if (!tasks_.push(std::move(task))) return false;
    }
    changed_.notify_one();
    return true;
  }

 private:
  static constexpr std::size_t most_tasks = 16;

  void work() {
    std::unique_lock lock{mutex_};
    while (true) {
      changed_.wait(lock, [this] { return ending_ || !tasks_.empty(); });
      if (ending_) return;
      const auto task = tasks_.pop();
      lock.unlock();
      (*task)();
      lock.lock();
    }
  }

  std::mutex mutex_;
  std::condition_variable changed_;
  BoundedQueue<std::function<void()>> tasks_{most_tasks};
  bool ending_{false};
  std::thread thread_;  // Last: it uses the rest.
};

}  // namespace standfast
