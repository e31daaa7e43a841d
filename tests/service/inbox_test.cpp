#include <catch2/catch.hpp>
#include <thread>
#include <utility>

#include "daemon/service/bounded_queue.hpp"
#include "daemon/service/inbox.hpp"
#include "daemon/service/poll_schedule.hpp"

using namespace standfast;

namespace {

Asked asked(Act what, std::function<void(const Answered&)> answer = [](const Answered&) {}) {
  Asked one;
  one.action.what = what;
  one.answer = std::move(answer);
  return one;
}

Act taken_act(Inbox& inbox) {
  const auto taken = inbox.take();
  REQUIRE(taken);
  REQUIRE(std::holds_alternative<Asked>(taken->what));
  return std::get<Asked>(taken->what).action.what;
}

}  // namespace

TEST_CASE("a full queue says no and leaves what it holds as it was") {
  BoundedQueue<int> queue{2};
  CHECK(queue.push(1));
  CHECK(queue.push(2));
  CHECK_FALSE(queue.push(3));
  CHECK(queue.pop() == 1);
  CHECK(queue.push(3));
  CHECK(queue.pop() == 2);
  CHECK(queue.pop() == 3);
  CHECK_FALSE(queue.pop());
}

TEST_CASE("scans that do not fit are counted, and the count is an event in front of what waits") {
  Inbox inbox;
  for (std::size_t i = 0; i < Inbox::most_scans + 3; ++i) inbox.add_scan(Scan{});
  const auto first = inbox.take();
  REQUIRE(first);
  const auto* news = std::get_if<News>(&first->what);
  REQUIRE(news);
  CHECK(std::get<QueueOverflow>(*news).lost == 3);
  CHECK(std::holds_alternative<Scan>(inbox.take()->what));
}

TEST_CASE("a stop and the end of a permit are taken with every queue full, and before everything else") {
  const auto [withdrawal, other] = GENERATE(std::pair{Act::stop, Act::permit_end}, std::pair{Act::permit_end, Act::stop});
  Inbox inbox;
  for (std::size_t i = 0; i < Inbox::most_scans + 1; ++i) inbox.add_scan(Scan{});
  for (std::size_t i = 0; i < Inbox::most_acts; ++i) REQUIRE(inbox.add_act(asked(Act::reset)));
  CHECK_FALSE(inbox.add_act(asked(Act::permit_give)));
  for (std::size_t i = 0; i < Inbox::most_acts; ++i) REQUIRE(inbox.add_act(asked(i % 2 == 0 ? Act::acknowledge : Act::silence)));
  for (const Act last : {Act::acknowledge, Act::silence}) CHECK_FALSE(inbox.add_act(asked(last)));
  int answers = 0, others = 0;
  const auto many = static_cast<int>(Inbox::most_acts) + 10;
  for (int i = 0; i < many; ++i) CHECK(inbox.add_act(asked(withdrawal, [&](const Answered&) { ++answers; })));
  for (int i = 0; i < 3; ++i) CHECK(inbox.add_act(asked(other, [&](const Answered&) { ++others; })));
  int taken = 0, others_taken = 0;
  for (auto next = inbox.take(); next && std::holds_alternative<Asked>(next->what); next = inbox.take()) {
    auto& one = std::get<Asked>(next->what);
    if (one.action.what == withdrawal) ++taken;
    else if (one.action.what == other) ++others_taken;
    else break;
    one.answer({});
  }
  CHECK(taken == static_cast<int>(Inbox::most_acts) + 1);
  CHECK(others_taken == 1);  // None is taken for one of the other kind.
  CHECK(answers == many);    // Each caller is answered, those that joined another's too.
  CHECK(others == 3);
}

TEST_CASE("acts come before reports, reports before scans") {
  Inbox inbox;
  inbox.add_scan(Scan{});
  inbox.add_report(OutputReport{});
  REQUIRE(inbox.add_act(asked(Act::silence)));
  CHECK(taken_act(inbox) == Act::silence);
  CHECK(std::holds_alternative<OutputReport>(inbox.take()->what));
  CHECK(std::holds_alternative<Scan>(inbox.take()->what));
  CHECK_FALSE(inbox.take());
}

TEST_CASE("what arrives or wakes ends the waiting") {
  Inbox inbox;
  std::thread other{[&] { inbox.add_scan(Scan{}); }};
  inbox.wait(seconds(600));
  other.join();
  CHECK(inbox.take());
  inbox.wake();
  inbox.wait(seconds(600));
}

TEST_CASE("a new rig gets nothing that old wires left behind") {
  Inbox inbox;
  inbox.add_scan(Scan{});
  inbox.add_report(OutputReport{});
  REQUIRE(inbox.add_act(asked(Act::silence)));
  inbox.forget_wires();
  CHECK(taken_act(inbox) == Act::silence);
  CHECK_FALSE(inbox.take());
}

TEST_CASE("a bus that returns after minutes is not flooded with the polls it missed", "[fault-12]") {
  PollSchedule schedule{{milliseconds(100), milliseconds(100)}, Instant{}};
  CHECK(schedule.next().block == 0);
  schedule.asked(0, Instant{} + minutes(5));
  CHECK(schedule.next().block == 1);
  schedule.asked(1, Instant{} + minutes(5));
  CHECK(schedule.next().at == Instant{} + minutes(5));
  schedule.asked(0, Instant{} + minutes(5));
  schedule.asked(1, Instant{} + minutes(5));
  CHECK(schedule.next().at == Instant{} + minutes(5) + milliseconds(100));
}

TEST_CASE("a stage that polls faster is obeyed at once, one that polls slower after the poll that is due") {
  PollSchedule schedule{{seconds(10)}, Instant{}};
  schedule.asked(0, Instant{});
  CHECK(schedule.next().at == Instant{} + seconds(10));
  schedule.set_periods({seconds(1)}, Instant{} + seconds(2));
  CHECK(schedule.next().at == Instant{} + seconds(3));
  schedule.set_periods({seconds(60)}, Instant{} + seconds(3));
  CHECK(schedule.next().at == Instant{} + seconds(3));
}
