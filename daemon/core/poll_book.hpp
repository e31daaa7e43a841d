// How the polls of each bus fare, from the scans alone: answered, failed and not sent in each minute. A poll that brings an answer
// without a flaw is answered; any other has failed, a refusal too. Not sent are those that a request's period asks for and that
// never were: its line was full, or the machine late.
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
  std::int64_t answered{0}, failed{0}, unsent{0};

  std::int64_t asked() const { return answered + failed; }
  std::int64_t due() const { return asked() + unsent; }

  template <class A>
  void visit(A& a) {
    a("answered", answered);
    a("failed", failed);
    a("unsent", unsent);
  }
};

// How one request keeps up with its period. Each of its polls covers one period; time that none covers adds up, so that a request
// of a minute's period that is never sent shows as well as one of a tenth of a second.
struct Pace {
  Duration every{};    // By its newest poll; as the rig states it before the first. 0: not judged.
  Duration covered{};  // In the minute that runs.
  Duration behind{};   // With the end of the minute before.

  template <class A>
  void visit(A& a) {
    a("every", every);
    a("covered", covered);
    a("behind", behind);
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
  std::vector<Pace> paces;               // By block.
  std::vector<std::string> told;         // By block: what its wire has to say of the newest failed poll; empty behind an answer.
  std::vector<BusPolls> buses;           // By bus.

  template <class A>
  void visit(A& a) {
    a("minute_began", minute_began);
    a("running", running);
    a("last", last);
    a("paces", paces);
    a("told", told);
    a("buses", buses);
  }
};

PollBook new_poll_book(const Job& job);

// Counts a scan taken in at `now`, of a block that is asked `every` so often. Minutes that are over by then are closed first, with
// rows for each bus that was asked in the last of them: polls answered and polls failed a second, and polls not sent if any were.
void count_poll(PollBook& book, const Job& job, const Scan& scan, Duration every, Instant now, std::vector<EffectRow>& rows);

// The sum over blocks of the bus in the last whole minute.
PollCount last_minute(const PollBook& book, const Job& job, BusId bus);

// The sum of the minutes that are judged.
PollCount judged_polls(const BusPolls& bus);
// More than 1 % of the polls of the last ten whole minutes have failed; were not sent. Before ten have passed nobody can tell.
bool polls_fail(const BusPolls& bus);
bool polls_unsent(const BusPolls& bus);

bool fits(const PollBook& book, const Job& job);

}  // namespace standfast
