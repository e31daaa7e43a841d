#include "daemon/core/quantity/mark.hpp"

#include <catch2/catch.hpp>

#include "tests/core/small_site.hpp"

using namespace standfast;
using namespace standfast::test;

namespace {

MarkWindow ten_seconds() { return {Instant{} + seconds(100), seconds(10)}; }
Reading at(Duration after, double in_mm) { return good(in_mm * mm, metres, 0, Instant{} + after); }

}  // namespace

TEST_CASE("a mark is the mean of the good readings in its window, with its standard error") {
  MarkWindow mark = ten_seconds();
  const double in_mm[] = {50.00, 50.02, 50.01, 49.99, 49.98};
  for (int i = 0; i < 5; ++i) mark.add(at(seconds(101 + i), in_mm[i]));
  const MarkValue value = mark.value(Instant{} + seconds(110));
  CHECK(value.value / mm == Approx(50.00).epsilon(1e-12));
  CHECK(value.standard_error / mm == Approx(0.0158114 / std::sqrt(5.0)).epsilon(1e-5));  // Sum of squares 0.0010 over 4.
  CHECK(value.readings == 5);
}

TEST_CASE("a mark is taken when its window has run out and holds five good readings") {
  MarkWindow mark = ten_seconds();
  for (int i = 0; i < 4; ++i) mark.add(at(seconds(101 + i), 50));
  CHECK_FALSE(mark.full(Instant{} + seconds(200)));
  mark.add(at(seconds(106), 50));
  CHECK_FALSE(mark.full(Instant{} + milliseconds(109999)));
  CHECK(mark.full(Instant{} + seconds(110)));
}

TEST_CASE("only good readings enter a mark, each once, and none from before it began") {
  MarkWindow mark = ten_seconds();
  Reading doubted = at(seconds(101), 60);
  doubted.quality = Quality::uncertain;
  mark.add(doubted);
  mark.add(bad_reading(Cause::no_answer, metres, Instant{} + seconds(102)));
  mark.add(at(seconds(99), 60));
  CHECK(mark.spread.count == 0);
  mark.add(at(seconds(103), 50));
  mark.add(at(seconds(103), 50));
  CHECK(mark.spread.count == 1);
}

TEST_CASE("a reading in doubt sends away what stood before it, and the mark waits for good ones in a row") {
  MarkWindow mark = ten_seconds();
  for (int i = 0; i < 8; ++i) mark.add(at(seconds(101 + i), 60));
  Reading doubted = at(seconds(109), 60);
  doubted.quality = Quality::uncertain;
  mark.add(doubted);
  CHECK_FALSE(mark.full(Instant{} + seconds(110)));
  for (int i = 0; i < 8; ++i) mark.add(at(seconds(112 + i), 50));
  CHECK_FALSE(mark.full(Instant{} + milliseconds(121999)));
  CHECK(mark.full(Instant{} + seconds(122)));
  CHECK(mark.value(Instant{} + seconds(122)).value / mm == Approx(50));
}

TEST_CASE("a mark of half an hour needs no more than its newest minute in a row") {
  MarkWindow mark{Instant{}, minutes(30)};
  mark.add(bad_reading(Cause::no_answer, metres, Instant{} + seconds(1700)));
  for (int i = 0; i < 10; ++i) mark.add(at(seconds(1740 + 6 * i), 50));
  CHECK_FALSE(mark.full(Instant{} + milliseconds(1799999)));
  CHECK(mark.full(Instant{} + seconds(1800)));
}

TEST_CASE("a baseline holds every channel and every jack's load") {
  SmallSite site;
  for (std::uint16_t jack = J1; jack <= J4; ++jack) site.set_pressure(jack, 70);
  site.read();
  MarkTaking mark = start_mark(site.job, site.now, seconds(5));
  const CountedFrom needed{{ChannelId{std::size_t{G1}}, ChannelId{std::size_t{P1}}}, {}};
  while (!mark_full(mark, needed, site.now)) {
    site.read_for(milliseconds(500), milliseconds(500));
    take_mark(mark, Scan{BlockId{std::size_t{0}}, site.now, Words{}, Flaw::none}, site.context());
    take_mark(mark, Scan{BlockId{std::size_t{1}}, site.now, Words{}, Flaw::none}, site.context());
  }
  CHECK(site.now == Instant{} + seconds(5));
  const MarkValues values = mark_values(mark, site.now);
  REQUIRE(values.channels[G1]);
  CHECK(values.channels[G1]->value == Approx(50 * mm));
  CHECK(values.channels[G1]->readings == 10);
  REQUIRE(values.loads[J1]);
  CHECK(values.loads[J1]->value / kN == Approx(70 * 1.26));
}

TEST_CASE("a mark that a channel cannot give is not taken for it") {
  SmallSite site;
  MarkTaking mark = start_mark(site.job, site.now, seconds(1));
  site.pressures[J2] = 0;  // Loop broken.
  for (int i = 0; i < 20; ++i) {
    site.read_for(milliseconds(100));
    take_mark(mark, Scan{BlockId{std::size_t{0}}, site.now, Words{}, Flaw::none}, site.context());
  }
  CHECK_FALSE(mark_full(mark, {{ChannelId{std::size_t{P2}}}, {}}, site.now));
  const MarkValues values = mark_values(mark, site.now);
  CHECK(values.channels[P1]);
  CHECK_FALSE(values.channels[P2]);
  CHECK_FALSE(values.loads[J2]);
}

TEST_CASE("a mark of one moment takes the newest good readings") {
  SmallSite site;
  site.pressures[J2] = 0;
  site.read();
  const MarkValues values = mark_of_now(site.context());
  CHECK(values.channels[G1]->value == Approx(50 * mm));
  CHECK_FALSE(values.channels[P2]);
}
