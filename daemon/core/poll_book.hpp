// How the polls of each bus fare, from the scans alone: answered and failed in each minute. A poll that brings an answer
// without a flaw is answered; any other has failed, a refusal too.
#pragma once

#include <optional>
#include <vector>

#include "daemon/core/effect.hpp"
#include "daemon/core/event.hpp"

namespace standfast {

inline constexpr Duration poll_minute = minutes(1);
inline constexpr std::size_t polls_judged = 10;        // Whole minutes together;
inline constexpr std::int64_t polls_lost_at_most = 1;  // of a hundred polls in them so many may fail.

struct PollCount {
  std::int64_t answered{0}, failed{0};

  template <class A>
  void visit(A& a) {
    a("answered", answered);
    a("failed", failed);
  }
};

struct BusPolls {
  std::vector<PollCount> minutes;  // The newest whole minutes, oldest first, at most as many as are judged.

  template <class A>
  void visit(A& a) {
    a("minutes", minutes);
  }
};

struct PollBook {
  std::optional<Instant> minute_began;   // With the first scan of the job or behind a start.
  std::vector<PollCount> running, last;  // By block: in the minute that runs, and in the one before.
  std::vector<BusPolls> buses;           // By bus.

  template <class A>
  void visit(A& a) {
    a("minute_began", minute_began);
    a("running", running);
    a("last", last);
    a("buses", buses);
  }
};

PollBook new_poll_book(const Job& job);

// Counts a scan taken in at `now`. Minutes that are over by then are closed first, with a row or two for each bus that was
// asked in the last of them: polls answered a second, and the share of polls that failed.
void count_poll(PollBook& book, const Job& job, const Scan& scan, Instant now, std::vector<EffectRow>& rows);

// The sum over blocks of the bus in the last whole minute.
PollCount last_minute(const PollBook& book, const Job& job, BusId bus);

// More than 1 % of the polls of the last ten whole minutes have failed. Before ten have passed nobody can tell.
bool polls_fail(const BusPolls& bus);

bool fits(const PollBook& book, const Job& job);

}  // namespace standfast
