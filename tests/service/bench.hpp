// A whole service on the grain store with nothing outside it: a clock moved by hand, scans made by hand, an output module
// and a disk that do what the test says.
#pragma once

#include <atomic>
#include <chrono>
#include <condition_variable>
#include <mutex>
#include <thread>
#include <vector>

#include "daemon/record/record_writer.hpp"
#include "daemon/service/service.hpp"
#include "tests/service/folder.hpp"
#include "tests/service/hand_clock.hpp"

namespace standfast {

// Remembers every image that was written.
class FakeOutputs {
 public:
  explicit FakeOutputs(const Clock& clock) : clock_{clock} {}
  std::unique_ptr<OutputModule> module();

  OutputImage newest() const;
  bool ever(OutputKind kind) const;  // On in any image since `forget`.
  void forget();
  // Waits for two whole exchanges from now on: the second began after this call.
  void wait_for_exchange();

 private:
  friend class FakeOutputModule;
  OutputReport exchange(const OutputImage& wanted);

  const Clock& clock_;
  mutable std::mutex mutex_;
  std::condition_variable written_;
  std::vector<OutputImage> images_;
  std::int64_t exchanges_{0};
};

// A disk whose commits can be held back and counted, and whose time passes only by hand.
class HeldDisk final : public record::WriterSeam {
 public:
  void before_commit() override {
    std::unique_lock lock{mutex_};
    ++commits_;
    changed_.wait(lock, [this] { return !held_; });
  }
  std::chrono::steady_clock::time_point now() const override {
    return std::chrono::steady_clock::time_point{std::chrono::nanoseconds{ns_.load()}};
  }
  void pass(Duration by) { ns_ += by.ns; }
  int commits() const {  // Begun so far, tries included.
    const std::lock_guard lock{mutex_};
    return commits_;
  }
  void hold(bool held) {
    {
      const std::lock_guard lock{mutex_};
      held_ = held;
    }
    changed_.notify_all();
  }

 private:
  mutable std::mutex mutex_;
  std::condition_variable changed_;
  bool held_{false};
  int commits_{0};
  std::atomic<std::int64_t> ns_{1'000'000'000'000};
};

class Bench {
 public:
  using DriverMaker = std::function<Result<std::unique_ptr<Driver>, std::string>(const Bus&)>;
  // In a folder that may hold a record already. Without `drivers` scans are made by hand.
  explicit Bench(const std::string& folder, DriverMaker drivers = {});
  ~Bench();

  // Time passes in steps of 50 ms, at each of which every instrument of the job in force answers as if nothing moved.
  void run_for(Duration time);
  // Everything that waits is taken; nothing else happens.
  void settle();
  // As a person would: asked, taken, answered when it is on the disk.
  Answered act(Action action);
  // Asked and taken; the answer may come later.
  void ask(Action action, std::function<void(const Answered&)> answer = [](const Answered&) {});
  Answered adopt();
  // Adopted, seen, reset, in the stage `Commission`: a commission permit can be given.
  void commission();
  Action commission_permit() const;
  std::string picture();
  void finish();

  HandClock clock;
  FakeOutputs outputs{clock};
  std::shared_ptr<HeldDisk> disk = std::make_shared<HeldDisk>();
  Inbox inbox;
  Pictures pictures{inbox};
  JobFolder folder;
  std::function<void()> before_append;  // Called whenever rows are about to be handed to the record.
  std::unique_ptr<record::RecordWriter> writer;
  std::unique_ptr<Service> service;

 private:
  std::int64_t seen();
  bool wired_{false};
};

std::string grain_store_in(const Folder& folder);
Action action_of(Act what, const std::string& object, const char* person, Role role);
// Every instrument of the block stands still, a quarter above the low end of its range; every input is not on.
Scan quiet_scan(const Job& job, BlockId block, Instant at);

}  // namespace standfast
