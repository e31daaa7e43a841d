// The limits of one request, 125 registers or 2000 bits: Modbus Application Protocol V1.1b3, sections 6.1 to 6.4.
#include "config/poll_plan.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <random>
#include <set>
#include <string>
#include <vector>

using namespace standfast;

namespace {

Bus tcp_bus(std::string name) { return {std::move(name), ModbusTcp{"127.0.0.1", 502}, milliseconds(200), {}}; }

Rig rig_with_one_bus() {
  Rig rig;
  rig.buses.push_back(tcp_bus("manifold"));
  return rig;
}

Channel channel_at(int start, RawType type = RawType::uint16) {
  Channel channel;
  channel.bus = BusId{0};
  channel.address = {1, Table::input_register, start};
  channel.type = type;
  channel.every = milliseconds(100);
  return channel;
}

Input input_at(int start) {
  Input input;
  input.bus = BusId{0};
  input.address = {1, Table::discrete_input, start};
  input.every = milliseconds(100);
  return input;
}

std::vector<int> starts_and_counts(const PollPlan& plan) {
  std::vector<int> numbers;
  for (const Block& block : plan.blocks) {
    numbers.push_back(block.start);
    numbers.push_back(block.count);
  }
  return numbers;
}

PollPlan plan_of(std::vector<Channel> channels) {
  Rig rig = rig_with_one_bus();
  rig.channels = std::move(channels);
  return poll_plan(rig);
}

}  // namespace

TEST_CASE("neighbouring registers are read in one request") {
  const PollPlan plan = plan_of({channel_at(0), channel_at(1, RawType::float32), channel_at(3)});
  REQUIRE(starts_and_counts(plan) == std::vector{0, 4});
  REQUIRE(plan.blocks[0].channels.size() == 3);
  CHECK(plan.blocks[0].channels[1].channel == ChannelId{1});
  CHECK(plan.blocks[0].channels[1].offset == 1);
  CHECK(plan.blocks[0].channels[2].offset == 3);
}

TEST_CASE("a gap of sixteen registers is read along and one of seventeen is not") {
  CHECK(starts_and_counts(plan_of({channel_at(0), channel_at(17)})) == std::vector{0, 18});
  CHECK(starts_and_counts(plan_of({channel_at(0), channel_at(18)})) == std::vector{0, 1, 18, 1});
}

TEST_CASE("a request has at most 125 registers and no value is cut in two") {
  std::vector<Channel> channels;
  for (int i = 0; i < 126; ++i) channels.push_back(channel_at(i));
  CHECK(starts_and_counts(plan_of(channels)) == std::vector{0, 125, 125, 1});
  channels.erase(channels.begin() + 122, channels.end());
  channels.push_back(channel_at(122, RawType::float64));
  CHECK(starts_and_counts(plan_of(channels)) == std::vector{0, 122, 122, 4});
}

TEST_CASE("bits are read up to 2000 in one request and over gaps of 64") {
  Rig rig = rig_with_one_bus();
  for (int start = 0; start <= 1950; start += 65) rig.inputs.push_back(input_at(start));
  CHECK(starts_and_counts(poll_plan(rig)) == std::vector{0, 1951});
  rig.inputs.push_back(input_at(1999));
  CHECK(starts_and_counts(poll_plan(rig)) == std::vector{0, 2000});
  rig.inputs.push_back(input_at(2000));
  CHECK(starts_and_counts(poll_plan(rig)) == std::vector{0, 2000, 2000, 1});
  rig.inputs = {input_at(0), input_at(66)};
  CHECK(starts_and_counts(poll_plan(rig)) == std::vector{0, 1, 66, 1});
}

TEST_CASE("what differs in bus, unit, table or period is asked apart") {
  Rig rig = rig_with_one_bus();
  rig.buses.push_back(tcp_bus("gauges"));
  rig.channels.assign(5, channel_at(0));
  rig.channels[1].bus = BusId{1};
  rig.channels[2].address.unit_id = 2;
  rig.channels[3].address.table = Table::holding_register;
  rig.channels[4].every = seconds(1);
  const PollPlan plan = poll_plan(rig);
  REQUIRE(plan.blocks.size() == 5);
  for (std::size_t i = 0; i < 5; ++i) CHECK(plan.blocks[i].channels[0].channel == ChannelId{i});
  CHECK(plan.blocks[1].bus == BusId{1});
  CHECK(plan.blocks[2].unit_id == 2);
  CHECK(plan.blocks[3].table == Table::holding_register);
  CHECK(plan.blocks[4].every == seconds(1));
}

TEST_CASE("blocks stand in the order of the rig's channels, then of its inputs") {
  Rig rig = rig_with_one_bus();
  rig.channels = {channel_at(500), channel_at(0), channel_at(501), channel_at(1)};
  rig.inputs = {input_at(9), input_at(3)};
  const PollPlan plan = poll_plan(rig);
  REQUIRE(starts_and_counts(plan) == std::vector{500, 2, 0, 2, 3, 7});
  CHECK(plan.blocks[2].inputs[0].input == InputId{0});
  CHECK(plan.blocks[2].inputs[0].offset == 6);
  CHECK(plan.blocks[2].inputs[1].offset == 0);
}

TEST_CASE("two channels on the same register share it") {
  const PollPlan plan = plan_of({channel_at(4, RawType::uint32), channel_at(4), channel_at(5)});
  REQUIRE(starts_and_counts(plan) == std::vector{4, 2});
  CHECK(plan.blocks[0].channels.size() == 3);
}

TEST_CASE("a channel read by hand is not polled") {
  Channel by_hand = channel_at(0);
  by_hand.bus.reset();
  CHECK(plan_of({by_hand}).blocks.empty());
}

TEST_CASE("a text line is asked for once and gives all its values, counted from 0") {
  Rig rig;
  rig.buses.push_back({"dial", SerialLines{}, milliseconds(200), {}});
  rig.channels = {channel_at(20, RawType::float64), channel_at(1)};
  const PollPlan plan = poll_plan(rig);
  REQUIRE(starts_and_counts(plan) == std::vector{0, 21});
  CHECK(plan.blocks[0].channels[0].offset == 20);
  CHECK(plan.blocks[0].channels[1].offset == 1);
  rig.channels[1].every = seconds(1);
  CHECK(poll_plan(rig).blocks.size() == 2);
}

TEST_CASE("every channel stands in exactly one block, wholly inside it, whatever the rig") {
  std::mt19937_64 random{9};
  constexpr RawType types[] = {RawType::uint16, RawType::float32, RawType::float64};
  for (int round = 0; round < 200; ++round) {
    Rig rig = rig_with_one_bus();
    rig.buses.push_back(tcp_bus("gauges"));
    for (int i = 0; i < 100; ++i) {
      Channel channel = channel_at(static_cast<int>(random() % 600), types[random() % 3]);
      channel.bus = BusId{random() % 2};
      channel.every = milliseconds(100 + 100 * static_cast<std::int64_t>(random() % 2));
      rig.channels.push_back(channel);
    }
    std::set<ChannelId> seen;
    for (const Block& block : poll_plan(rig).blocks) {
      CHECK(block.count <= 125);
      for (const auto& place : block.channels) {
        const Channel& channel = rig.channels[place.channel.at()];
        REQUIRE(seen.insert(place.channel).second);
        REQUIRE(block.start + place.offset == channel.address.start);
        REQUIRE(place.offset + words_of(channel.type) <= block.count);
        REQUIRE((block.bus == *channel.bus && block.every == channel.every));
      }
    }
    REQUIRE(seen.size() == rig.channels.size());
  }
}
