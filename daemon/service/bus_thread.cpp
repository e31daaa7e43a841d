#include "daemon/service/bus_thread.hpp"

#include <algorithm>
#include <chrono>

namespace standfast {
namespace {

std::vector<Duration> periods_of(const std::vector<Block>& blocks) {
  std::vector<Duration> periods;
  for (const Block& block : blocks) periods.push_back(block.every);
  return periods;
}

}  // namespace

BusThread::BusThread(Parts parts, const Clock& clock, Inbox& inbox)
    : parts_{std::move(parts)}, clock_{clock}, inbox_{inbox}, schedule_{periods_of(parts_.blocks), clock.now()} {
  thread_ = std::thread{[this] { run(); }};
}

BusThread::~BusThread() {
  end();
  thread_.join();
}

void BusThread::end() {
  {
    const std::lock_guard lock{mutex_};
    ending_ = true;
  }
  changed_.notify_one();
}

void BusThread::set_periods(std::vector<Duration> periods) {
  {
    const std::lock_guard lock{mutex_};
    new_periods_ = std::move(periods);
  }
  changed_.notify_one();
}

bool BusThread::wait_until(Instant due) {
  std::unique_lock lock{mutex_};
  const Duration wait = std::clamp(due - clock_.now(), Duration{}, longest_wait);
  if (wait.ns > 0) changed_.wait_for(lock, std::chrono::nanoseconds{wait.ns}, [this] { return ending_ || !new_periods_.empty(); });
  if (!new_periods_.empty()) schedule_.set_periods(std::exchange(new_periods_, {}), clock_.now());
  return !ending_;
}

void BusThread::run() {
  while (wait_until(std::max(schedule_.next().at, parts_.driver->free_at()))) {
    progress_.fetch_add(1);
    const auto due = schedule_.next();
    const Instant now = clock_.now();
    if (due.at > now || parts_.driver->free_at() > now) continue;
    Scan scan = parts_.driver->ask(parts_.ids[due.block], parts_.blocks[due.block], now + parts_.timeout);
    schedule_.asked(due.block, scan.taken_at);
    inbox_.add_scan(std::move(scan));
  }
}

}  // namespace standfast
