// Channels read from lines of text: what was said on the line becomes a value, or is bad with its reason.
#include <catch2/catch.hpp>

#include "tests/core/small_site.hpp"

using namespace standfast;
using namespace standfast::test;

namespace {

// G1 and G2 are the first and the second number of one line, in millimetres.
SmallSite site_with_line(const std::string& answer = "A{value} B{value} mm") {
  SmallSite site;
  SerialLines wire;
  wire.answer = answer;
  wire.overload_words = {"OL"};
  site.job.rig.buses[0] = {"dials", wire, milliseconds(200), {}, {}};
  for (const std::uint16_t place : {G1, G2}) {
    Channel& channel = site.job.rig.channels[place];
    channel.bus = BusId{0};
    channel.scale = {.raw_low = 0, .raw_high = 100, .value_low = 0, .value_high = 0.1};
  }
  Block& block = site.job.polls.blocks.emplace_back();
  block.bus = BusId{0};
  block.count = 2;
  block.channels = {{ChannelId{std::size_t{G1}}, 0}, {ChannelId{std::size_t{G2}}, 1}};
  site.restart();
  return site;
}

}  // namespace

TEST_CASE("each number of a line becomes the value of its channel, at the line's instant") {
  SmallSite site = site_with_line();
  site.wait(milliseconds(100));
  site.scan(2, std::string{"A1.250 B-0.000 mm"});
  CHECK(site.channel(G1).quality == Quality::good);
  CHECK(equal(site.channel(G1).value, {metres, 1.25 * mm}));
  CHECK(equal(site.channel(G2).value, {metres, 0}));
  CHECK(site.channel(G1).newest == site.now);
}

TEST_CASE("a line that is not the stated one has no value at once, and the next one has", "[fault-18]") {
  for (const char* said : {"A1,250 B0.000 mm", "A0.049 B0.000 in", "A1.250 B0.000 mm 7", "A1.250 mm", "A1. B0.000 mm", ""}) {
    SmallSite site = site_with_line();
    site.scan(2, std::string{"A1.250 B0.000 mm"});
    site.wait(milliseconds(100));
    site.scan(2, std::string{said});
    for (const std::uint16_t place : {G1, G2}) {
      CHECK(site.channel(place).quality == Quality::bad);
      CHECK(site.channel(place).cause == Cause::unreadable_text);
    }
    site.wait(milliseconds(100));
    site.scan(2, std::string{"A1.251 B0.000 mm"});
    CHECK(site.channel(G1).quality == Quality::good);
  }
}

TEST_CASE("a gauge that says that it is overloaded has no value at once, and its neighbour has one", "[fault-18]") {
  SmallSite site = site_with_line();
  site.scan(2, std::string{"A1.250 B0.000 mm"});
  site.wait(milliseconds(100));
  site.scan(2, std::string{"A  OL B0.010 mm"});
  CHECK(site.channel(G1).quality == Quality::bad);
  CHECK(site.channel(G1).cause == Cause::overload);
  CHECK(equal(site.channel(G2).value, {metres, 0.01 * mm}));
}

TEST_CASE("a garbled line is lost, and the old value ages until it is stale", "[fault-17]") {
  SmallSite site = site_with_line();
  site.scan(2, std::string{"A1.250 B0.000 mm"});
  site.wait(milliseconds(1999));
  site.scan(2, std::string{"A9.250 B0.000 mm"}, Flaw::garbled);
  CHECK(site.channel(G1).quality == Quality::good);
  CHECK(equal(site.channel(G1).value, {metres, 1.25 * mm}));
  site.wait(milliseconds(1));
  CHECK(site.channel(G1).quality == Quality::bad);
  CHECK(site.channel(G1).cause == Cause::garbled_answer);
}

TEST_CASE("a dial that says the same number for a while stands still, however the number is written", "[fault-15]") {
  SmallSite site = site_with_line();
  site.scan(2, std::string{"A1.250 B0.000 mm"});
  const auto since = site.values.channels[G1].unchanged_since;
  site.wait(milliseconds(100));
  site.scan(2, std::string{"A+1.25 B0.001 mm"});
  CHECK(site.values.channels[G1].unchanged_since == since);
  CHECK(site.values.channels[G2].unchanged_since == site.now);
}

TEST_CASE("text from a bus that speaks no lines is no value") {
  SmallSite site = site_with_line();
  site.job.rig.buses[0].wire = ModbusTcp{};
  site.scan(2, std::string{"A1.250 B0.000 mm"});
  CHECK(site.channel(G1).cause == Cause::unreadable_text);
}
