// The simulated instruments: words as the rig file states them, noise that is bounded and seeded, faults on command.
#include <cmath>

#include "config/raw_value.hpp"
#include "tests/rig/grain_store_plant.hpp"
#include "tools/rig/encode.hpp"

using namespace standfast;
using namespace standfast::rig;

namespace {

constexpr RawType every_type[] = {RawType::uint16, RawType::int16, RawType::uint32, RawType::int32,
                                  RawType::uint64, RawType::int64, RawType::float32, RawType::float64};

Channel counting(RawType type) {  // One count is one micrometre.
  Channel channel;
  channel.name = "G";
  channel.type = type;
  channel.scale = {0, 1000, 0, 1e-3, false, 0};
  return channel;
}

// What the words say in SI, by the code that decodes in the daemon.
double decoded(const Channel& channel, const std::vector<std::uint16_t>& words) {
  const auto raw = raw_value(words, channel.type, channel.word_order, channel.byte_order);
  REQUIRE(raw);
  const Scale& scale = channel.scale;
  const double number = scale.loop ? *raw / scale.counts_per_mA * 1e-3 : *raw;
  return scale.value_low + (number - scale.raw_low) / (scale.raw_high - scale.raw_low) * (scale.value_high - scale.value_low);
}

double reading(Plant& plant, const std::string& name) {
  const ChannelId id = channel_of(plant.rig(), name);
  const Channel& channel = plant.rig().channels[id.at()];
  const auto words = plant.words(*channel.bus, channel.address.unit_id, channel.address.table, channel.address.start,
                                 words_of(channel.type));
  REQUIRE(words);
  return decoded(channel, *words);
}

}  // namespace

TEST_CASE("what an instrument encodes is decoded to the same value in every type and order") {
  for (const RawType type : every_type) {
    for (const Order words : {Order::big, Order::little}) {
      for (const Order bytes : {Order::big, Order::little}) {
        Channel channel = counting(type);
        channel.word_order = words;
        channel.byte_order = bytes;
        CHECK(decoded(channel, encode(channel, 12.345e-3)) == Approx(12.345e-3).epsilon(1e-6));
      }
    }
  }
}

TEST_CASE("the bytes of 1.0 and -2 stand on the wire as other programs write them") {
  // IEEE 754: 1.0 is 3F800000. Two's complement of -2 in 32 bits: FFFFFFFE. High word first.
  Channel real = counting(RawType::float32);
  CHECK(encode(real, 1e-6) == std::vector<std::uint16_t>{0x3f80, 0x0000});
  Channel whole = counting(RawType::int32);
  CHECK(encode(whole, -2e-6) == std::vector<std::uint16_t>{0xffff, 0xfffe});
  whole.word_order = Order::little;
  CHECK(encode(whole, -2e-6) == std::vector<std::uint16_t>{0xfffe, 0xffff});
}

TEST_CASE("a working loop stays between 3.8 and 20.5 mA, a cable that is off carries none") {
  // NAMUR NE 43 (from memory): measuring signals 3.8 to 20.5 mA, failure at or below 3.6 mA.
  Channel channel = counting(RawType::uint16);
  channel.scale = {4e-3, 20e-3, 0, 700e5, true, 1000};
  CHECK(encode(channel, 0).front() == 4000);
  CHECK(encode(channel, 350e5).front() == 12000);
  CHECK(encode(channel, 9000e5).front() == 20500);
  CHECK(encode(channel, -9000e5).front() == 3800);
  CHECK(encode_unplugged(channel).front() == 0);
}

TEST_CASE("a value beyond what the type carries stops at its end") {
  CHECK(encode(counting(RawType::uint16), -1).front() == 0);
  CHECK(encode(counting(RawType::uint16), 1).front() == 65535);
  CHECK(encode(counting(RawType::int16), -1).front() == 0x8000);
  CHECK(encode(counting(RawType::int64), 1e30) == std::vector<std::uint16_t>{0x7fff, 0xffff, 0xffff, 0xffff});
}

TEST_CASE("readings lie near the truth and flicker") {
  auto plant = grain_store_plant();
  double least = 1, most = -1;
  for (int n = 0; n < 500; ++n) {
    plant->step(milliseconds(10));
    least = std::min(least, reading(*plant, "G1"));
    most = std::max(most, reading(*plant, "G1"));
    REQUIRE(std::abs(reading(*plant, "P1")) < 0.4e5);
  }
  CHECK(most > least);
  CHECK(most - least < 12e-6);
}

TEST_CASE("both gauges of the head follow it") {
  auto plant = grain_store_plant();
  const double one = reading(*plant, "G1");
  const double two = reading(*plant, "G2");
  plant->obey("head pushed +1.2 mm over 1 s", "test");
  for (int n = 0; n < 150; ++n) plant->step(milliseconds(10));
  CHECK(reading(*plant, "G1") - one == Approx(1.2e-3).margin(20e-6));
  CHECK(reading(*plant, "G2") - two == Approx(1.2e-3).margin(20e-6));
}

TEST_CASE("a stuck gauge repeats its words, and follows again when mended") {
  auto plant = grain_store_plant();
  plant->obey("gauge G1 stuck", "test");
  const double stuck = reading(*plant, "G1");
  plant->obey("head pushed +1.2 mm", "test");
  plant->step(seconds(1));
  CHECK(reading(*plant, "G1") == stuck);
  plant->obey("mend G1", "test");
  plant->step(milliseconds(10));
  CHECK(reading(*plant, "G1") > stuck + 1e-3);
}

TEST_CASE("a knocked gauge is off by the knock, its twin is not") {
  auto plant = grain_store_plant();
  const double one = reading(*plant, "G1");
  const double two = reading(*plant, "G2");
  plant->obey("gauge G1 knocked +0.8 mm", "test");
  plant->step(milliseconds(10));
  CHECK(reading(*plant, "G1") - one == Approx(0.8e-3).margin(15e-6));
  CHECK(reading(*plant, "G2") - two == Approx(0).margin(15e-6));
}

TEST_CASE("a drifting gauge goes on drifting until it is mended") {
  auto plant = grain_store_plant();
  const double before = reading(*plant, "G1");
  plant->obey("gauge G1 drifting 0.5 mm/min", "test");
  for (int n = 0; n < 60; ++n) plant->step(seconds(1));
  CHECK(reading(*plant, "G1") - before == Approx(0.5e-3).margin(15e-6));
}

TEST_CASE("an unplugged gauge says so in the way of its type") {
  auto plant = grain_store_plant();
  const BusId bus = *plant->rig().channels[0].bus;
  plant->obey("gauge P1 unplugged", "test");
  plant->obey("gauge G2 unplugged", "test");
  plant->step(milliseconds(10));
  CHECK(plant->words(bus, 1, Table::input_register, 0, 1)->front() == 0);
  const auto nan = plant->words(bus, 1, Table::input_register, 22, 2);
  CHECK_FALSE(raw_value(*nan, RawType::float32, Order::big, Order::big));
}

TEST_CASE("the same seed gives the same words, another seed others") {
  const auto words = [](std::uint64_t seed) {
    auto plant = grain_store_plant({seed, 1, {}});
    for (int n = 0; n < 20; ++n) plant->step(milliseconds(10));
    return *plant->words(*plant->rig().channels[0].bus, 1, Table::input_register, 0, 33);
  };
  CHECK(words(7) == words(7));
  CHECK(words(7) != words(8));
}

TEST_CASE("every channel of the example is fastened to something") {
  CHECK(grain_store_plant() != nullptr);
  Rig strange = grain_store_rig();
  strange.points[0].name = "ROOF";
  const auto plant = Plant::make(strange, grain_store(), {});
  REQUIRE_FALSE(plant);
  CHECK(plant.error() == "point ROOF: its name does not begin with HEAD, COLUMN, BASE or TOWER");
}
