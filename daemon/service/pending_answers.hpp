// Answers that wait for the disk: nobody is told "done" before the row that proves it is durable. A stop is answered at
// once, for it must never wait; the same answer says whether it is recorded already.
#pragma once

#include <utility>
#include <vector>

#include "daemon/service/asked.hpp"

namespace standfast {

inline constexpr Duration answer_waits_at_most = seconds(5);

class PendingAnswers {
 public:
  void add(Answered answered, std::function<void(const Answered&)> give, Instant now) {
    if (answered.answer.what == Act::stop) return give(answered);
    waiting_.push_back({std::move(answered), std::move(give), now + answer_waits_at_most});
  }
  // Gives what is durable by now, and what has waited too long as "not recorded".
  void settle(std::int64_t durable_seq, Instant now) {
    std::vector<Waiting> rest;
    for (Waiting& each : std::exchange(waiting_, {})) {
      each.answered.recorded = each.answered.seq <= durable_seq;
      if (each.answered.recorded || now >= each.until) each.give(each.answered);
      else rest.push_back(std::move(each));
    }
    waiting_ = std::move(rest);
  }
  bool empty() const { return waiting_.empty(); }

 private:
  struct Waiting {
    Answered answered;
    std::function<void(const Answered&)> give;
    Instant until;
  };
  std::vector<Waiting> waiting_;
};

}  // namespace standfast
