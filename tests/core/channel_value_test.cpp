#include "daemon/core/channel_value.hpp"

#include <catch2/catch.hpp>

#include "tests/core/small_site.hpp"
#include "tests/support/full_walk.hpp"

using namespace standfast;
using namespace standfast::test;

namespace {

const Channel gauge = gauge_channel("G");  // 0 to 100 mm, 0.01 mm a count.

WallTime on_day(std::int64_t day_number) { return {day_number * hours(24).ns}; }

}  // namespace

TEST_CASE("a number within its range is good and carries its standard uncertainty") {
  Channel channel = gauge;
  channel.accuracy = 0.03 * mm;
  const Reading reading = scaled_reading(channel, 1234, {});
  CHECK(reading.quality == Quality::good);
  CHECK(equal(reading.value, {metres, 12.34 * mm}));
  // JCGM 100:2008, 4.3.7 and F.2.2.1: 0.03 / sqrt(3) and 0.01 / sqrt(12) mm in squares: sqrt(3.0833e-4) mm.
  CHECK(reading.uncertainty == Approx(0.017559 * mm).epsilon(1e-4));
}

TEST_CASE("the ends of the range are within it") {
  CHECK(scaled_reading(gauge, 0, {}).quality == Quality::good);
  CHECK(scaled_reading(gauge, 10000, {}).quality == Quality::good);
}

TEST_CASE("outside the range but within a tenth of it there is a number, and it is doubted") {
  for (const double counts : {-1000.0, -1.0, 10001.0, 11000.0}) {
    const Reading reading = scaled_reading(gauge, counts, {});
    CHECK(reading.cause == Cause::outside_range);
    CHECK(reading.quality == Quality::uncertain);
    CHECK(reading.has_number());
  }
}

TEST_CASE("beyond the margin a value is saturated and stays at the margin's end", "[fault-16]") {
  for (const double counts : {11001.0, 1e9, 1e308}) {
    const Reading reading = scaled_reading(gauge, counts, {});
    CHECK(reading.saturated == Saturation::high);
    CHECK(reading.cause == Cause::saturated_high);
    CHECK_FALSE(reading.has_number());
    CHECK(equal(reading.value, {metres, 0.11}));
  }
  const Reading low = scaled_reading(gauge, -1e308, {});
  CHECK(low.saturated == Saturation::low);
  CHECK(equal(low.value, {metres, -0.01}));
}

TEST_CASE("a scale that overflows saturates on its side", "[fault-16]") {
  Channel steep = gauge;
  steep.scale.raw_high = 1e-300;
  CHECK(scaled_reading(steep, 1e300, {}).saturated == Saturation::high);
  CHECK(scaled_reading(steep, -1e300, {}).saturated == Saturation::low);
}

TEST_CASE("a loop at exactly 3.6 or 21 mA is broken, at exactly 3.8 or 20.5 mA it measures") {
  const Channel loop = pressure_channel("P");
  for (const double microampere : {3600.0, 21000.0}) CHECK(scaled_reading(loop, microampere, {}).quality == Quality::bad);
  for (const double microampere : {3601.0, 3799.0, 20501.0, 20999.0})
    CHECK(scaled_reading(loop, microampere, {}).quality == Quality::uncertain);
  for (const double microampere : {3800.0, 20500.0}) CHECK(scaled_reading(loop, microampere, {}).quality == Quality::good);
}

TEST_CASE("a loop whose range is narrower than its scale is judged by that range as well") {
  Channel loop = pressure_channel("P");  // 4 to 20 mA are 0 to 700 bar.
  loop.range_high = 500 * bar;
  const auto at_bar = [&](double in_bar) { return scaled_reading(loop, 4000 + in_bar / 700 * 16000, {}); };
  CHECK(at_bar(500).quality == Quality::good);
  CHECK(at_bar(525).cause == Cause::outside_range);
  CHECK(at_bar(600).saturated == Saturation::high);
  CHECK(at_bar(-8).quality == Quality::good);  // 3.8 mA: the low end is that of the scale.
}

// What a float can hold and a gauge cannot mean.
TEST_CASE("before the first answer a channel is bad: never read") {
  const SmallSite site;
  CHECK(site.channel(P1).quality == Quality::bad);
  CHECK(site.channel(P1).cause == Cause::never_read);
}

TEST_CASE("an answer that never came names its flaw at once when nothing was read before") {
  SmallSite site;
  site.lose(0, Flaw::not_connected);
  CHECK(site.channel(P1).cause == Cause::not_connected);
}

TEST_CASE("a lost answer is counted, and the old reading ages until it is stale") {
  SmallSite site;
  site.set_pressure(J1, 350);
  site.read();
  site.wait(milliseconds(1999));
  site.lose(0, Flaw::no_answer);
  CHECK(site.values.channels[P1].lost == 1);
  CHECK(site.channel(P1).quality == Quality::good);
  CHECK(site.channel(P1).newest == Instant{});
  REQUIRE(next_stale(site.values.channels) == Instant{} + seconds(2));

  site.wait(milliseconds(1));
  CHECK(site.channel(P1).quality == Quality::bad);
  CHECK(site.channel(P1).cause == Cause::no_answer);
  CHECK(site.channel(G1).cause == Cause::stale);  // Nobody asked it.
  CHECK_FALSE(next_stale(site.values.channels));
}

TEST_CASE("a refused request is bad at once: the rig file is wrong and time will not mend it") {
  SmallSite site;
  site.read();
  site.lose(0, Flaw::exception_refused);
  CHECK(site.channel(P1).quality == Quality::bad);
  CHECK(site.channel(P1).cause == Cause::exception_refused);
}

TEST_CASE("an answer after silence is a fresh reading") {
  SmallSite site;
  site.read();
  site.wait(seconds(5));
  site.read();
  CHECK(site.channel(P1).quality == Quality::good);
  CHECK(site.channel(P1).newest == site.now);
}

TEST_CASE("an answer too short for a channel counts as lost for that channel alone") {
  SmallSite site;
  site.read();
  site.wait(milliseconds(100));
  site.scan(0, Words{4000, 4000, 4000});
  CHECK(site.channel(P3).newest == site.now);
  CHECK(site.channel(P4).newest < site.now);
  CHECK(site.values.channels[P4].lost == 1);
}

TEST_CASE("a scan of a block that the job does not have changes nothing") {
  SmallSite site;
  site.scan(7, Words{1, 2, 3});
  CHECK(site.channel(P1).cause == Cause::never_read);
}

TEST_CASE("a certificate holds through its due day") {
  const Certificate certificate{"C-101", "2027-03-01"};
  CHECK_FALSE(certificate_overdue(certificate, on_day(20878)));  // 2027-03-01.
  CHECK(certificate_overdue(certificate, on_day(20879)));
  CHECK_FALSE(certificate_overdue({"C-102", ""}, on_day(99999)));
  CHECK_FALSE(certificate_overdue({"C-103", "2024-02-29"}, {on_day(19783).ns - 1}));
  CHECK(certificate_overdue({"C-103", "2024-02-29"}, on_day(19783)));  // 2024-03-01.
}

TEST_CASE("a value of an instrument whose certificate is overdue is doubted") {
  SmallSite site;
  site.job.rig.channels[G3].certificate = {"C-9", "2020-01-01"};
  site.wall = on_day(20000);
  site.read();
  CHECK(site.channel(G3).cause == Cause::certificate_overdue);
  CHECK(site.channel(G3).quality == Quality::uncertain);
  CHECK(site.channel(G5).quality == Quality::good);
}

TEST_CASE("a gauge that stands still while its twin moves five of its steps is frozen", "[fault-15]") {
  SmallSite site;
  site.read();
  site.set_gauge(G2, 5005);
  site.read_for(milliseconds(29900));
  CHECK(site.channel(G1).quality == Quality::good);
  site.read_for(milliseconds(100));
  CHECK(site.channel(G1).cause == Cause::frozen);
  CHECK(site.channel(G2).quality == Quality::good);  // Its twin has not moved.
}

TEST_CASE("a quiet gauge whose twin is quiet too may repeat honestly") {
  SmallSite site;
  site.read();
  site.set_gauge(G2, 5004);
  site.read_for(seconds(120));
  CHECK(site.channel(G1).quality == Quality::good);
  CHECK(site.channel(G3).quality == Quality::good);  // No partner says anything.
}

TEST_CASE("a frozen gauge stays frozen until it moves, even when its twin comes back") {
  SmallSite site;
  site.read();
  site.set_gauge(G2, 5010);
  site.read_for(seconds(31));
  site.set_gauge(G2, 5000);
  site.read_for(seconds(1));
  CHECK(site.channel(G1).cause == Cause::frozen);
  site.set_gauge(G1, 5001);
  site.read_for(milliseconds(100));
  CHECK(site.channel(G1).quality == Quality::good);
}

namespace {

// Planned: 0.275 x 1860 kN / 126 cm2 = 405.95 bar; a twentieth of it, that friction may hide, is 20.3 bar.
SmallSite pumping_at_100_bar() {
  SmallSite site;
  site.progress.oil_flows = true;
  site.set_pressure(J1, 100);
  site.read();
  return site;
}

void set_pressure_for(SmallSite& site, double in_bar, Duration time) {
  site.set_pressure(J1, in_bar);
  site.read_for(time);
}

// The plan predicts one stretch for the jack: 400 kN in so many millimetres.
void predict(SmallSite& site, double mm_of_travel) {
  Step step;
  step.targets = {{JackId{std::size_t{J1}}, Force::from_si(400 * kN), Force::from_si(400 * kN)}};
  step.predicted = {{JackId{std::size_t{J1}}, Length::from_si(mm_of_travel * mm), Length::from_si(1 * mm)}};
  site.job.plan.stages.resize(1);
  site.job.plan.stages[0].steps = {step};
  site.restart();
}

}  // namespace

TEST_CASE("a ram that stands still while it is pumped a twentieth of the planned pressure up is frozen") {
  SmallSite site = pumping_at_100_bar();
  set_pressure_for(site, 120, seconds(31));
  CHECK(site.channel(S1).quality == Quality::good);
  set_pressure_for(site, 121, milliseconds(100));
  CHECK(site.channel(S1).cause == Cause::frozen);
}

TEST_CASE("a pressure that comes and goes while no oil flows says nothing about the ram, however slowly and far") {
  SmallSite site = pumping_at_100_bar();
  site.progress.oil_flows = false;
  for (int at = 100; at > 40; at -= 2) set_pressure_for(site, at, seconds(20));
  for (int at = 40; at < 160; at += 2) set_pressure_for(site, at, seconds(20));
  CHECK(site.channel(S1).quality == Quality::good);
}

TEST_CASE("a pressure that falls while oil flows is the oil of another jack") {
  SmallSite site = pumping_at_100_bar();
  set_pressure_for(site, 50, seconds(40));
  CHECK(site.channel(S1).quality == Quality::good);
}

TEST_CASE("what is pumped in strokes adds up, and what happens between them does not") {
  SmallSite site = pumping_at_100_bar();
  for (int stroke = 0; stroke < 3; ++stroke) {
    const double from = 100 + stroke * 5;  // Up by 10 bar in each stroke, down by 5 behind it.
    site.progress.oil_flows = true;
    set_pressure_for(site, from + 10, seconds(5));
    CHECK(site.channel(S1).quality == Quality::good);
    site.progress.oil_flows = false;
    set_pressure_for(site, from + 5, seconds(5));
  }
  site.read_for(seconds(5));
  CHECK(site.channel(S1).cause == Cause::frozen);  // 30 bar, for 35 s.
}

TEST_CASE("where the prediction gives a pressure fewer than five steps of the ram, the ram may stand") {
  // 5 steps of 0.01 mm: at 400 kN in 0.4 mm 50 kN, 39.7 bar.
  SmallSite stiff = pumping_at_100_bar();
  predict(stiff, 0.4);
  stiff.read();
  set_pressure_for(stiff, 139, seconds(31));
  CHECK(stiff.channel(S1).quality == Quality::good);
  set_pressure_for(stiff, 140, milliseconds(200));
  CHECK(stiff.channel(S1).cause == Cause::frozen);
  // In 6 mm it is 3.3 kN, 2.6 bar: less than friction may hide.
  SmallSite soft = pumping_at_100_bar();
  predict(soft, 6);
  soft.read();
  set_pressure_for(soft, 120, seconds(31));
  CHECK(soft.channel(S1).quality == Quality::good);
}

TEST_CASE("a median is a reading of its own; the plain one is never touched by it") {
  SmallSite site;
  site.job.rig.channels[G3].median = 3;
  site.restart();
  for (const int counts : {5000, 5002, 5900}) {
    site.set_gauge(G3, counts);
    site.read_for(milliseconds(100));
  }
  CHECK(equal(site.channel(G3).value, {metres, 59.00 * mm}));
  CHECK(equal(site.values.channels[G3].steadied.value, {metres, 50.02 * mm}));
}

TEST_CASE("a median of readings of which one is doubted is doubted") {
  SmallSite site;
  site.job.rig.channels[G3].median = 3;
  site.restart();
  for (const int counts : {5000, 20000, 5002}) {
    site.set_gauge(G3, counts);
    site.read_for(milliseconds(100));
  }
  const Reading& steadied = site.values.channels[G3].steadied;
  CHECK(steadied.has_number());
  CHECK(equal(steadied.value, {metres, 50.02 * mm}));
  CHECK(steadied.cause == Cause::saturated_high);
}

TEST_CASE("a lost answer does not count the old reading into the median again") {
  SmallSite site;
  site.job.rig.channels[G3].median = 3;
  site.restart();
  site.set_gauge(G3, 5000);
  site.read_for(milliseconds(200));
  site.set_gauge(G3, 5900);
  site.read_for(milliseconds(100));
  for (int i = 0; i < 2; ++i) {
    site.wait(milliseconds(100));
    site.lose(1, Flaw::no_answer);
  }
  CHECK(equal(site.values.channels[G3].steadied.value, {metres, 50.00 * mm}));
}

TEST_CASE("a bad reading empties the median") {
  SmallSite site;
  site.job.rig.channels[P1].median = 3;
  site.restart();
  site.set_pressure(J1, 100);
  site.read_for(milliseconds(300));
  site.pressures[J1] = 0;
  site.read_for(milliseconds(100));
  CHECK(site.values.channels[P1].steadied.quality == Quality::bad);
  site.set_pressure(J1, 200);
  site.read_for(milliseconds(100));
  CHECK(equal(site.values.channels[P1].steadied.value, site.channel(P1).value));
}

TEST_CASE("a stage polls at its own pace, and stale follows it") {
  SmallSite site;
  site.read();
  Stage watching;
  watching.polls = {{ChannelId{std::size_t{G1}}, seconds(10), seconds(30)}, {ChannelId{std::size_t{G2}}, seconds(40), seconds(60)}};
  set_polls(site.values.channels, site.job, watching, site.now);
  CHECK(site.values.channels[G1].stale_after == seconds(30));
  CHECK(site.values.channels[G2].stale_after == seconds(60));
  CHECK(site.values.channels[G3].stale_after == seconds(2));
  site.wait(seconds(29));
  CHECK(site.channel(G1).quality == Quality::good);
  CHECK(site.channel(G3).quality == Quality::bad);
}

TEST_CASE("what a stage says of staleness counts, and not what rig.yaml says") {
  SmallSite site;
  site.job.rig.channels[G1].stale_after = seconds(30);
  site.restart();
  Stage raising;
  raising.polls = {{ChannelId{std::size_t{G1}}, milliseconds(200), seconds(1)}};
  set_polls(site.values.channels, site.job, raising, site.now);
  site.read();
  site.wait(milliseconds(999));
  CHECK(site.channel(G1).quality == Quality::good);
  site.wait(milliseconds(1));
  CHECK(site.channel(G1).quality == Quality::bad);
}

TEST_CASE("an old answer counts no longer than a new one would from the stage's entry on") {
  SmallSite site;
  Stage slow, raising;
  slow.polls = {{ChannelId{std::size_t{G1}}, seconds(20), seconds(60)}};
  set_polls(site.values.channels, site.job, slow, site.now);
  site.read();
  site.wait(seconds(1));
  set_polls(site.values.channels, site.job, raising, site.now);  // rig.yaml: stale after 2 s.
  site.wait(milliseconds(1999));
  CHECK(site.channel(G1).quality == Quality::good);
  site.wait(milliseconds(1));
  CHECK(site.channel(G1).quality == Quality::bad);
}

TEST_CASE("going back to faster polls makes no answer stale that counted before") {
  SmallSite site;
  Stage watching, raising;
  watching.polls = {{ChannelId{std::size_t{G1}}, seconds(10), seconds(30)}};
  set_polls(site.values.channels, site.job, watching, site.now);
  site.read();
  site.wait(seconds(9));
  set_polls(site.values.channels, site.job, raising, site.now);
  site.wait(milliseconds(50));
  CHECK(site.channel(G1).quality == Quality::good);
  site.read();
  site.wait(seconds(2));
  CHECK(site.channel(G1).quality == Quality::bad);
}
