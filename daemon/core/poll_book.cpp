#include "daemon/core/poll_book.hpp"

#include <algorithm>
#include <utility>

namespace standfast {
namespace {

PollCount& operator+=(PollCount& sum, const PollCount& count) {
  sum.answered += count.answered;
  sum.failed += count.failed;
  sum.unsent += count.unsent;
  return sum;
}

// The polls that were not sent, and are now counted. One fewer than were due may be a matter of where the minute begins: it is
// carried on. What came early is not: it makes up for nothing later.
std::int64_t close_minute(Pace& pace) {
  const Duration covered = std::exchange(pace.covered, {});
  if (pace.every.ns <= 0) return 0;
  pace.behind = std::max(Duration{}, pace.behind + poll_minute - covered);
  const std::int64_t unsent = std::max<std::int64_t>(0, pace.behind.ns / pace.every.ns - 1);
  pace.behind = pace.behind - pace.every * unsent;
  return unsent;
}

// What went before another period counts as covered: one long period may reach far into the minute.
void cover(Pace& pace, Duration every, Duration into_the_minute) {
  if (pace.every != every) pace = {every, into_the_minute, {}};
  pace.covered = pace.covered + every;
}

bool more_than_a_few(std::int64_t lost, std::int64_t of) { return lost * 100 > of * polls_lost_at_most; }

void close_minute(PollBook& book, const Job& job) {
  for (std::size_t i = 0; i < book.running.size(); ++i) book.running[i].unsent = close_minute(book.paces[i]);
  book.last = std::move(book.running);
  book.running.assign(job.polls.blocks.size(), {});
  for (std::size_t b = 0; b < book.buses.size(); ++b) {
    auto& minutes = book.buses[b].minutes;
    if (minutes.size() == polls_judged) minutes.erase(minutes.begin());
    minutes.push_back(last_minute(book, job, BusId{b}));
  }
  book.minute_began = *book.minute_began + poll_minute;
}

Reading counted(double number, Per per, Instant from) {
  return {.quality = Quality::good,
          .cause = Cause::none,
          .value = {{Base::ratio, per}, number},
          .oldest = from,
          .newest = from + poll_minute};
}

void tell_minute(const PollBook& book, const Job& job, std::vector<EffectRow>& rows) {
  const Instant from = *book.minute_began - poll_minute;
  for (std::size_t b = 0; b < book.buses.size(); ++b) {
    const PollCount& count = book.buses[b].minutes.back();
    if (count.due() == 0) continue;
    const std::string& name = job.rig.buses[b].name;
    const auto tell = [&](const char* what, std::int64_t polls) {
      rows.emplace_back(DerivedValue{what + name, counted(static_cast<double>(polls) / poll_minute.seconds(), Per::second, from)});
    };
    tell("polls answered ", count.answered);
    tell("polls failed ", count.failed);
    if (count.unsent > 0) tell("polls unsent ", count.unsent);
  }
}

// A damaged line of text is no word about the wire.
void note_told(std::string& told, const Scan& scan) {
  const bool of_the_wire = scan.flaw == Flaw::not_connected || scan.flaw == Flaw::line_in_use || scan.flaw == Flaw::wrong_instrument;
  const auto* words = std::get_if<std::string>(&scan.raw);
  if (of_the_wire && words != nullptr) told = *words;
  else told.clear();
}

}  // namespace

PollBook new_poll_book(const Job& job) {
  PollBook book;
  book.running.resize(job.polls.blocks.size());
  book.last.resize(job.polls.blocks.size());
  for (const Block& block : job.polls.blocks) book.paces.push_back({block.every, {}, {}});
  book.told.resize(job.polls.blocks.size());
  book.buses.resize(job.rig.buses.size());
  return book;
}

void count_poll(PollBook& book, const Job& job, const Scan& scan, Duration every, Instant now, std::vector<EffectRow>& rows) {
  if (!book.minute_began) book.minute_began = now;
  for (std::size_t closed = 0; now - *book.minute_began >= poll_minute; ++closed) {
    close_minute(book, job);
    tell_minute(book, job, rows);
    // Behind so many empty minutes more of them change nothing.
    if (closed > polls_judged) book.minute_began = now - Duration{(now - *book.minute_began).ns % poll_minute.ns};
  }
  const std::size_t block = scan.block.at();
  ++(scan.flaw == Flaw::none ? book.running[block].answered : book.running[block].failed);
  cover(book.paces[block], every, now - *book.minute_began);
  note_told(book.told[block], scan);
}

PollCount last_minute(const PollBook& book, const Job& job, BusId bus) {
  PollCount sum;
  for (std::size_t i = 0; i < book.last.size(); ++i)
    if (job.polls.blocks[i].bus == bus) sum += book.last[i];
  return sum;
}

PollCount judged_polls(const BusPolls& bus) {
  PollCount sum;
  for (const PollCount& minute : bus.minutes) sum += minute;
  return sum;
}

bool polls_fail(const BusPolls& bus) {
  const PollCount sum = judged_polls(bus);
  return bus.minutes.size() == polls_judged && more_than_a_few(sum.failed, sum.asked());
}

bool polls_unsent(const BusPolls& bus) {
  const PollCount sum = judged_polls(bus);
  return bus.minutes.size() == polls_judged && more_than_a_few(sum.unsent, sum.due());
}

bool fits(const PollBook& book, const Job& job) {
  return book.running.size() == job.polls.blocks.size() && book.last.size() == job.polls.blocks.size() &&
         book.paces.size() == job.polls.blocks.size() && book.told.size() == job.polls.blocks.size() &&
         book.buses.size() == job.rig.buses.size() &&
         std::all_of(book.buses.begin(), book.buses.end(), [](const BusPolls& bus) { return bus.minutes.size() <= polls_judged; });
}

}  // namespace standfast
