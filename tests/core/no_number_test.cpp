// Registers that hold no number: what instruments write where they have none, and words in the wrong order.
#include <catch2/catch.hpp>

#include "tests/core/small_site.hpp"

using namespace standfast;
using namespace standfast::test;

namespace {

// G1, of 0 to 100 mm in 0.01 mm a count, alone in its block.
SmallSite site_with(RawType type) {
  SmallSite site;
  site.job.rig.channels[G1].type = type;
  site.job.polls.blocks[1].channels = {{ChannelId{std::size_t{G1}}, 0}};
  site.restart();
  return site;
}

}  // namespace

TEST_CASE("a float that is no number is bad at once", "[fault-14]") {
  struct Pattern { Words words; Cause cause; };
  const Pattern patterns[] = {{{0x7FC0, 0x0000}, Cause::not_finite}, {{0x7F80, 0x0000}, Cause::not_finite},
                              {{0xFF80, 0x0000}, Cause::not_finite}, {{0x0000, 0x0001}, Cause::not_finite}};
  for (const Pattern& pattern : patterns) {
    SmallSite site = site_with(RawType::float32);
    site.scan(1, pattern.words);
    CHECK(site.channel(G1).quality == Quality::bad);
    CHECK(site.channel(G1).cause == pattern.cause);
  }
}

TEST_CASE("swapped words that leave a denormal float are no number, and others only an identity register tells", "[fault-14]") {
  struct Pattern { Words words; Cause cause; };  // 12.5, 80.25 and 0.001 with their words swapped.
  const Pattern patterns[] = {{{0x0000, 0x4148}, Cause::not_finite}, {{0x8000, 0x42A0}, Cause::not_finite},
                              {{0x126F, 0x3A83}, Cause::none}};
  for (const Pattern& pattern : patterns) {
    SmallSite site = site_with(RawType::float32);
    site.scan(1, pattern.words);
    CHECK(site.channel(G1).cause == pattern.cause);
  }
}

TEST_CASE("counts that instruments say in place of a number are none where the range ends before them", "[fault-14]") {
  // 7FFF, 8000 and FFFF in place of a number: common practice, no source.
  struct Sentinel { RawType type; std::uint16_t word; Saturation side; };
  const Sentinel sentinels[] = {{RawType::int16, 0x7FFF, Saturation::high}, {RawType::int16, 0x8000, Saturation::low},
                                {RawType::uint16, 0xFFFF, Saturation::high}, {RawType::uint16, 0x8000, Saturation::high}};
  for (const Sentinel& sentinel : sentinels) {
    SmallSite site = site_with(sentinel.type);
    site.scan(1, Words{sentinel.word});
    CHECK_FALSE(site.channel(G1).has_number());
    CHECK(site.channel(G1).saturated == sentinel.side);
  }
}
