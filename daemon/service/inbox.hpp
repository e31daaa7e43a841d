// All that waits for the engine: scans, output reports, acts of people and news from inside. Any thread may add; only the
// engine's thread takes. Every queue is bounded. Lost scans are counted beside the queue and become an event of their
// own; a `stop` and a `permit end` are taken however full everything is.
#pragma once

#include <atomic>
#include <condition_variable>
#include <cstdint>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <variant>
#include <vector>

#include "daemon/core/event.hpp"
#include "daemon/service/asked.hpp"
#include "daemon/service/bounded_queue.hpp"

namespace standfast {

using News = decltype(Event::what);  // What happened; the engine's thread adds when.

class Inbox {
 public:
  static constexpr std::size_t most_scans = 4096;
  static constexpr std::size_t most_reports = 256;
  static constexpr std::size_t most_acts = 64;
  static constexpr std::size_t most_news = 64;

  void add_scan(Scan scan);
  void add_report(OutputReport report);
  void add_news(News news);
  // False: too many acts are waiting; try again. `acknowledge` and `silence` have as much room again. Never for what
  // withdraws: where even that is too much, a stop joins the last stop, the end of a permit the last such end.
  [[nodiscard]] bool add_act(Asked asked);
  // Somebody wants a fresh picture, something became durable, or the end is near: look up from waiting.
  void wake();

  struct Taken { std::variant<Asked, OutputReport, Scan, News> what; };
  // What withdraws first, then acts, news, reports, scans, each in order of arrival. None: nothing waits.
  std::optional<Taken> take();
  // Returns when something waits or `wake` was called, at the latest after `most`.
  void wait(Duration most);
  // Forgets what old wires left: their places mean nothing to a new rig.
  void forget_wires();

 private:
  static void join(std::optional<Asked>& waiting, Asked asked);
  bool anything() const;

  std::mutex mutex_;
  std::condition_variable arrived_;
  BoundedQueue<Asked> withdrawals_{most_acts}, acts_{2 * most_acts};  // The second half of these for what makes safe.
  BoundedQueue<News> news_{most_news};
  BoundedQueue<OutputReport> reports_{most_reports};
  BoundedQueue<Scan> scans_{most_scans};
  std::optional<Asked> joined_stop_, joined_end_;
  std::int64_t lost_{0};
  bool woken_{false};
};

}  // namespace standfast
