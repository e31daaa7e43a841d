#include "daemon/service/inbox.hpp"

#include <chrono>

namespace standfast {

void Inbox::add_scan(Scan scan) {
  {
    const std::lock_guard lock{mutex_};
    if (!scans_.push(std::move(scan))) ++lost_;
  }
  arrived_.notify_one();
}

void Inbox::add_report(OutputReport report) {
  {
    const std::lock_guard lock{mutex_};
    if (!reports_.push(std::move(report))) ++lost_;
  }
  arrived_.notify_one();
}

void Inbox::add_news(News news) {
  {
    const std::lock_guard lock{mutex_};
    if (!news_.push(std::move(news))) ++lost_;
  }
  arrived_.notify_one();
}

// One act for all of them; each is answered.
void Inbox::join(std::optional<Asked>& waiting, Asked asked) {
  if (!waiting) return void(waiting = std::move(asked));
  waiting->answer = [first = std::move(waiting->answer), second = std::move(asked.answer)](const Answered& answered) {
    first(answered);
    second(answered);
  };
}

bool Inbox::add_act(Asked asked) {
  const Act what = asked.action.what;
  {
    const std::lock_guard lock{mutex_};
    if (withdraws(what)) {
      if (!withdrawals_.push(std::move(asked))) join(what == Act::stop ? joined_stop_ : joined_end_, std::move(asked));
    } else {
      if (acts_.size() >= most_acts && !makes_safe(what)) return false;
      if (!acts_.push(std::move(asked))) return false;
    }
  }
  arrived_.notify_one();
  return true;
}

void Inbox::wake() {
  {
    const std::lock_guard lock{mutex_};
    woken_ = true;
  }
  arrived_.notify_one();
}

std::optional<Inbox::Taken> Inbox::take() {
  const std::lock_guard lock{mutex_};
  if (auto withdrawal = withdrawals_.pop()) return Taken{std::move(*withdrawal)};
  for (auto* joined : {&joined_stop_, &joined_end_})
    if (*joined) return Taken{*std::exchange(*joined, std::nullopt)};
  if (auto act = acts_.pop()) return Taken{std::move(*act)};
  if (lost_ > 0) return Taken{News{QueueOverflow{std::exchange(lost_, 0)}}};
  if (auto news = news_.pop()) return Taken{std::move(*news)};
  if (auto report = reports_.pop()) return Taken{std::move(*report)};
  if (auto scan = scans_.pop()) return Taken{std::move(*scan)};
  return std::nullopt;
}

bool Inbox::anything() const {
  return !withdrawals_.empty() || joined_stop_ || joined_end_ || !acts_.empty() || lost_ > 0 || !news_.empty() || !reports_.empty() ||
         !scans_.empty();
}

void Inbox::wait(Duration most) {
  std::unique_lock lock{mutex_};
  arrived_.wait_for(lock, std::chrono::nanoseconds{most.ns}, [this] { return woken_ || anything(); });
  woken_ = false;
}

void Inbox::forget_wires() {
  const std::lock_guard lock{mutex_};
  reports_.clear();
  scans_.clear();
}

}  // namespace standfast
