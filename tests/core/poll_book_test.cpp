// How the polls of a bus fare, and what comes of it: a lost answer now and then is nothing, one in fifty is for review.
#include "daemon/core/poll_book.hpp"

#include <catch2/catch.hpp>
#include <cmath>

#include "tests/core/changes.hpp"
#include "tests/support/sanitized.hpp"
#include "tests/support/steady_random.hpp"

namespace standfast::test {
namespace {

// One bus with one request.
struct Counted {
  Job job;
  PollBook book;
  Instant now{};
  Duration every{};  // 0: not judged.
  std::vector<EffectRow> rows;

  Counted() {
    job.rig.buses.push_back({"gauges", ModbusTcp{}, milliseconds(200), {}, {}});
    job.polls.blocks.resize(1);
    book = new_poll_book(job);
  }
  // So many polls, evenly over one minute; the first `failed` of them fail.
  void minute(int polls, int failed) {
    const Instant began = now;
    for (int i = 0; i < polls; ++i) {
      now = began + Duration{poll_minute.ns * i / polls};
      count_poll(book, job, Scan{BlockId{0u}, now, Words{}, i < failed ? Flaw::no_answer : Flaw::none}, every, now, rows);
    }
    now = began + poll_minute;
  }
  // The next scan closes the minute before.
  bool fails() {
    count_poll(book, job, Scan{BlockId{0u}, now, Words{}, Flaw::none}, every, now, rows);
    return polls_fail(book.buses[0]);
  }
};

int alarms_from(const std::vector<EffectRow>& rows, std::size_t from, Level level) {
  int count = 0;
  for (std::size_t i = from; i < rows.size(); ++i)
    if (const auto* alarm = std::get_if<AlarmChange>(&rows[i])) count += alarm->from == AlarmState::normal && alarm->level >= level;
  return count;
}

int raises_to_hold(const std::vector<EffectRow>& rows, std::size_t from) {
  int count = 0;
  for (std::size_t i = from; i < rows.size(); ++i)
    if (const auto* signal = std::get_if<SignalChange>(&rows[i])) count += signal->from < Level::hold && signal->to >= Level::hold;
  return count;
}

// Ten polls a second of every request; `flaw` says what becomes of each. The output module answers twice a second.
template <class FlawOf>
void poll_for(Site& site, Duration time, FlawOf flaw) {
  int turn = 0;
  for (const Instant until = site.now + time; site.now < until;) {
    site.now = site.now + milliseconds(100);
    site.wall.ns += milliseconds(100).ns;
    for (std::size_t b = 0; b < site.job().polls.blocks.size(); ++b) {
      const Flaw of_this = flaw();
      if (of_this == Flaw::none) site.poll(b);
      else site.tell(Scan{BlockId{b}, site.now, Words{}, of_this});
    }
    if (++turn % 5 == 0) site.pass_module({});
  }
}

Flaw always_good() { return Flaw::none; }

constexpr int nuisance_hours = is_sanitized ? 1 : 24;

}  // namespace

TEST_CASE("polls are judged over ten whole minutes, and exactly one in a hundred may fail") {
  Counted counted;
  for (int minute = 0; minute < 9; ++minute) counted.minute(600, 6);
  CHECK_FALSE(counted.fails());
  counted.minute(599, 6);  // One was counted just before.
  CHECK_FALSE(counted.fails());
  counted.minute(599, 7);
  CHECK(counted.fails());
}

TEST_CASE("before ten minutes have passed nobody can tell, however many polls fail") {
  Counted counted;
  for (int minute = 0; minute < 9; ++minute) counted.minute(60, 60);
  CHECK_FALSE(counted.fails());
  counted.minute(59, 59);
  CHECK(counted.fails());
}

TEST_CASE("a bad minute counts for ten, and not for the eleventh") {
  Counted counted;
  counted.minute(600, 100);
  for (int minute = 0; minute < 9; ++minute) counted.minute(600, 0);
  CHECK(counted.fails());
  counted.minute(599, 0);
  CHECK_FALSE(counted.fails());
}

TEST_CASE("once a minute each bus has a row of its polls answered a second and one of those that failed") {
  Counted counted;
  counted.minute(600, 3);
  CHECK(counted.rows.empty());
  counted.fails();
  REQUIRE(counted.rows.size() == 2);
  const auto& answered = std::get<DerivedValue>(counted.rows[0]);
  CHECK(answered.quantity == "polls answered gauges");
  CHECK(answered.reading.value.dimension == Dimension{Base::ratio, Per::second});
  CHECK(answered.reading.value.si == Approx(597.0 / 60));
  CHECK((answered.reading.oldest == Instant{} && answered.reading.newest == Instant{} + minutes(1)));
  const auto& failed = std::get<DerivedValue>(counted.rows[1]);
  CHECK(failed.quantity == "polls failed gauges");
  CHECK(failed.reading.value.dimension == Dimension{Base::ratio, Per::second});
  CHECK(failed.reading.value.si == Approx(3.0 / 60));
  const PollCount minute = last_minute(counted.book, counted.job, BusId{0u});
  CHECK((minute.answered == 597 && minute.failed == 3));
}

TEST_CASE("polls that were due and never went out are counted apart, told in a row of their own, and for review above 1 %") {
  Counted counted;
  counted.every = milliseconds(100);
  counted.minute(300, 0);
  counted.fails();
  const PollCount minute = last_minute(counted.book, counted.job, BusId{0u});
  CHECK((minute.answered == 300 && minute.failed == 0 && minute.unsent == 299));  // One may be a matter of where it began.
  REQUIRE(counted.rows.size() == 3);
  CHECK(std::get<DerivedValue>(counted.rows[2]).quantity == "polls unsent gauges");
  CHECK(std::get<DerivedValue>(counted.rows[2]).reading.value.si == Approx(299.0 / 60));
  for (int more = 0; more < 9; ++more) counted.minute(593, 0);  // With these, more than 1 % of all that were due.
  CHECK_FALSE(polls_unsent(counted.book.buses[0]));
  CHECK_FALSE(counted.fails());
  CHECK(polls_unsent(counted.book.buses[0]));
}

TEST_CASE("a line that keeps its periods has no poll unsent, whatever the minute's beginning and changes of the period") {
  Counted counted;
  counted.every = seconds(2);
  counted.minute(30, 0);
  const Instant began = counted.now;
  for (int i = 0; i < 45; ++i) {  // At 30 s the stage asks half as often as before.
    counted.every = i < 30 ? seconds(1) : seconds(2);
    counted.now = began + (i < 30 ? seconds(1) * i : seconds(30) + seconds(2) * (i - 30));
    count_poll(counted.book, counted.job, Scan{BlockId{0u}, counted.now, Words{}, Flaw::none}, counted.every, counted.now, counted.rows);
  }
  counted.now = began + poll_minute;
  counted.minute(30, 0);
  counted.fails();
  CHECK(counted.book.buses[0].minutes.size() == 3);
  for (const PollCount& minute : counted.book.buses[0].minutes) CHECK(minute.unsent == 0);
}

TEST_CASE("a minute with a poll early, and the next with one late, has none unsent") {
  Counted counted;
  counted.every = milliseconds(100);
  for (int minute = 0; minute < 10; ++minute) counted.minute(minute % 2 ? 599 : 601, 0);
  counted.fails();
  CHECK(judged_polls(counted.book.buses[0]).unsent == 0);
}

TEST_CASE("of a minute in which the period changed the polls are counted that each part of it asked for") {
  Counted counted;
  for (int i = 0; i < 45; ++i) {  // Half a minute a second apart, as asked; then 2 s apart, though the stage asks each second still,
    counted.every = seconds(1);
    counted.now = Instant{} + (i < 30 ? seconds(1) * i : seconds(30) + seconds(2) * (i - 30));
    count_poll(counted.book, counted.job, Scan{BlockId{0u}, counted.now, Words{}, Flaw::none}, counted.every, counted.now, counted.rows);
  }
  counted.now = Instant{} + minutes(1);
  counted.fails();
  CHECK(last_minute(counted.book, counted.job, BusId{0u}).unsent == 14);  // Fifteen fewer; one may be a matter of the beginning.
}

TEST_CASE("a request that is not sent for a whole minute, beside one that is, counts as not sent; a slow one, too") {
  Counted counted;
  counted.job.polls.blocks.resize(3);
  counted.book = new_poll_book(counted.job);
  const auto polled = [&](std::size_t block, Duration every) {
    count_poll(counted.book, counted.job, Scan{BlockId{block}, counted.now, Words{}, Flaw::none}, every, counted.now, counted.rows);
  };
  polled(1, milliseconds(500));
  polled(2, minutes(1));
  counted.every = seconds(1);
  counted.minute(60, 0);
  for (int minute = 0; minute < 10; ++minute) counted.minute(60, 0);
  counted.fails();
  std::int64_t unsent = 0;
  for (const EffectRow& row : counted.rows)
    if (const auto* value = std::get_if<DerivedValue>(&row); value && value->quantity == "polls unsent gauges")
      unsent += std::llround(value->reading.value.si * 60);
  CHECK(unsent == 11 * 120 - 2 + 11 - 2);  // Sent once, and one short of what is due.
  CHECK(polls_unsent(counted.book.buses[0]));
}

TEST_CASE("when the stage asks more often than before, wherever in the minute, no poll is missing") {
  for (int at = 0; at < 10; ++at) {
    Counted counted;
    const Instant change = Instant{} + minutes(1) + seconds(50 + at);
    for (counted.now = Instant{}; counted.now < change; counted.now = counted.now + seconds(10))
      count_poll(counted.book, counted.job, Scan{BlockId{0u}, counted.now, Words{}, Flaw::none}, seconds(10), counted.now, counted.rows);
    counted.every = milliseconds(100);
    for (counted.now = change; counted.now < Instant{} + minutes(4); counted.now = counted.now + counted.every)
      count_poll(counted.book, counted.job, Scan{BlockId{0u}, counted.now, Words{}, Flaw::none}, counted.every, counted.now, counted.rows);
    INFO(at);
    CHECK(judged_polls(counted.book.buses[0]).unsent == 0);
  }
}

TEST_CASE("a request of which the rig states the period, and that is never sent at all, counts as not sent") {
  Counted counted;
  counted.job.polls.blocks.resize(2);
  counted.job.polls.blocks[1].every = seconds(1);
  counted.book = new_poll_book(counted.job);
  counted.every = seconds(1);
  for (int minute = 0; minute < 10; ++minute) counted.minute(60, 0);
  counted.fails();
  CHECK(judged_polls(counted.book.buses[0]).unsent == 599);
  CHECK(polls_unsent(counted.book.buses[0]));
}

TEST_CASE("a request that began in the middle of a minute is not short of the polls before") {
  Counted counted;
  counted.job.polls.blocks.resize(2);
  counted.book = new_poll_book(counted.job);
  counted.every = seconds(1);
  for (int second = 0; second < 60; ++second) {
    counted.now = Instant{} + seconds(second);
    for (std::size_t block = 0; block < (second < 40 ? 1U : 2U); ++block)
      count_poll(counted.book, counted.job, Scan{BlockId{block}, counted.now, Words{}, Flaw::none}, seconds(1), counted.now, counted.rows);
  }
  counted.now = Instant{} + minutes(1);
  counted.fails();
  CHECK(last_minute(counted.book, counted.job, BusId{0u}).unsent == 0);
}

TEST_CASE("what a wire says of itself is kept until it answers") {
  Counted counted;
  const auto take = [&](std::variant<Words, Bits, std::string> raw, Flaw flaw) {
    count_poll(counted.book, counted.job, Scan{BlockId{0u}, counted.now, std::move(raw), flaw}, counted.every, counted.now, counted.rows);
    return counted.book.told[0];
  };
  CHECK(take(std::string("/dev/ttyS1: No such file or directory"), Flaw::not_connected) == "/dev/ttyS1: No such file or directory");
  CHECK(take(std::string("D 1.2"), Flaw::garbled).empty());  // A damaged line is no word about the wire.
  CHECK(take(std::string("holding register 100 reads 17, 4711 is stated"), Flaw::wrong_instrument).size() > 10);
  CHECK(take(Words{1}, Flaw::none).empty());
}

TEST_CASE("after hours of silence on all buses the next minute begins where it would have begun") {
  Counted counted;
  counted.minute(600, 600);
  counted.now = Instant{} + hours(5) + seconds(7);
  CHECK_FALSE(counted.fails());
  CHECK(*counted.book.minute_began == Instant{} + hours(5));
  CHECK(counted.book.buses[0].minutes.size() == polls_judged);
}

TEST_CASE("a bus that loses one answer in a thousand for a day raises nothing, with twenty channels at 10 Hz", "[nuisance]") {
  Site site("002-to-full-step");
  site.pass(seconds(1));
  REQUIRE(site.signal() == Level::none);
  SteadyRandom random{2026};
  std::int64_t lost = 0;
  for (int hour = 0; hour < nuisance_hours; ++hour) {
    site.rows.clear();
    poll_for(site, hours(1), [&] {
      const bool loses = random.one_in(1000);
      lost += loses;
      return loses ? Flaw::no_answer : Flaw::none;
    });
    INFO("hour " << hour << ": " << site.alarms());
    REQUIRE(alarms_from(site.rows, 0, Level::review) == 0);
    REQUIRE(site.signal() == Level::none);
  }
  CHECK(lost > nuisance_hours * 60);
}

TEST_CASE("a bus on which one poll in fifty fails is for review, by its name, and needs no reset", "[nuisance]") {
  Site site("002-to-full-step");
  site.pass(seconds(1));
  site.rows.clear();
  int turn = 0;
  poll_for(site, minutes(11), [&] { return ++turn % 50 == 0 ? Flaw::garbled : Flaw::none; });
  INFO(site.alarms());
  CHECK(site.has("bus manifold", Level::review));
  CHECK(alarm_of(site, "bus manifold", Level::review)->cause == Cause::polls_failing);
  CHECK(alarms_from(site.rows, 0, Level::hold) == 0);
  CHECK(site.signal() == Level::review);
  site.act({.what = Act::acknowledge});
  poll_for(site, minutes(11), always_good);
  CHECK(site.signal() == Level::none);
}

// A gauge swapped behind its gateway, an adapter pulled and plugged in again, a gateway that restarts.
TEST_CASE("twenty seconds without a bus are one HOLD and one reset, and all is well", "[nuisance]") {
  for (const Flaw flaw : {Flaw::exception_gateway, Flaw::not_connected, Flaw::no_answer}) {
    Site site("002-to-full-step");
    poll_for(site, minutes(11), always_good);
    REQUIRE(site.signal() == Level::none);
    site.rows.clear();
    poll_for(site, seconds(20), [flaw] { return flaw; });
    CHECK(site.signal() == Level::hold);
    poll_for(site, seconds(10), always_good);
    CHECK(site.signal() == Level::hold);
    reset_all(site);
    poll_for(site, minutes(1), always_good);
    INFO(site.alarms());
    CHECK(raises_to_hold(site.rows, 0) == 1);
    CHECK(site.signal() == Level::review);  // 20 s of ten minutes are 3 % of the polls.
    CHECK(site.has("bus manifold", Level::review));
    site.act({.what = Act::acknowledge});
    poll_for(site, minutes(11), always_good);
    CHECK(site.signal() == Level::none);
    CHECK(raises_to_hold(site.rows, 0) == 1);
    for (const ChannelState& channel : site.state().values.channels) CHECK(channel.reading.quality == Quality::good);
  }
}

TEST_CASE("the engine goes on counting from a snapshot as if there had been none") {
  Site site("002-to-full-step");
  int turn = 0;
  const auto some_fail = [&] { return ++turn % 60 == 0 ? Flaw::garbled : Flaw::none; };
  poll_for(site, minutes(9), some_fail);
  auto again = Engine::from_snapshot(site.engine.snapshot(), site.state().job);
  REQUIRE(again);
  site.engine = std::move(*again);
  poll_for(site, minutes(2), some_fail);
  CHECK(site.has("bus manifold", Level::review));
}

}  // namespace standfast::test
