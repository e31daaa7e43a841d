#include "daemon/core/poll_book.hpp"

#include <algorithm>

namespace standfast {
namespace {

PollCount& operator+=(PollCount& sum, const PollCount& count) {
  sum.answered += count.answered;
  sum.failed += count.failed;
  return sum;
}

bool is_empty(const PollCount& count) { return count.answered + count.failed == 0; }

void close_minute(PollBook& book, const Job& job) {
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
    if (is_empty(count)) continue;
    const std::string& name = job.rig.buses[b].name;
    const auto answered = static_cast<double>(count.answered), failed = static_cast<double>(count.failed);
    rows.emplace_back(DerivedValue{"polls answered " + name, counted(answered / poll_minute.seconds(), Per::second, from)});
    rows.emplace_back(DerivedValue{"polls failed " + name, counted(failed / (answered + failed), Per::none, from)});
  }
}

}  // namespace

PollBook new_poll_book(const Job& job) {
  PollBook book;
  book.running.resize(job.polls.blocks.size());
  book.last.resize(job.polls.blocks.size());
  book.buses.resize(job.rig.buses.size());
  return book;
}

void count_poll(PollBook& book, const Job& job, const Scan& scan, Instant now, std::vector<EffectRow>& rows) {
  if (!book.minute_began) book.minute_began = now;
  for (std::size_t closed = 0; now - *book.minute_began >= poll_minute; ++closed) {
    close_minute(book, job);
    tell_minute(book, job, rows);
    // Behind so many empty minutes more of them change nothing.
    if (closed > polls_judged) book.minute_began = now - Duration{(now - *book.minute_began).ns % poll_minute.ns};
  }
  PollCount& count = book.running[scan.block.at()];
  ++(scan.flaw == Flaw::none ? count.answered : count.failed);
}

PollCount last_minute(const PollBook& book, const Job& job, BusId bus) {
  PollCount sum;
  for (std::size_t i = 0; i < book.last.size(); ++i)
    if (job.polls.blocks[i].bus == bus) sum += book.last[i];
  return sum;
}

bool polls_fail(const BusPolls& bus) {
  if (bus.minutes.size() < polls_judged) return false;
  PollCount sum;
  for (const PollCount& minute : bus.minutes) sum += minute;
  return sum.failed * 100 > (sum.answered + sum.failed) * polls_lost_at_most;
}

bool fits(const PollBook& book, const Job& job) {
  return book.running.size() == job.polls.blocks.size() && book.last.size() == job.polls.blocks.size() &&
         book.buses.size() == job.rig.buses.size() &&
         std::all_of(book.buses.begin(), book.buses.end(), [](const BusPolls& bus) { return bus.minutes.size() <= polls_judged; });
}

}  // namespace standfast
