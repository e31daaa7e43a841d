#include "config/poll_plan.hpp"

#include <algorithm>
#include <cstddef>
#include <optional>
#include <tuple>
#include <utility>

#include "config/ensure.hpp"
#include "config/wire_kind.hpp"

namespace standfast {
namespace {

// How much one request may ask for (Modbus Application Protocol V1.1b3, sections 6.1 to 6.4), and how much that nobody
// wants is cheaper to read along than to ask around.
struct Reach {
  int most, gap;
};
constexpr Reach registers{125, 16};
constexpr Reach bits{2000, 64};

constexpr Reach reach_of(Table table) {
  switch (table) {
    case Table::holding_register:
    case Table::input_register: return registers;
    case Table::coil:
    case Table::discrete_input: return bits;
  }
  return registers;
}

struct Wanted {  // One channel or input to be read.
  BusId bus;
  Address address;
  int width{1};
  Duration every{};
  std::size_t rank{0};  // Place in the rig: channels first, then inputs.
  std::optional<ChannelId> channel;
  InputId input;
  bool line{false};  // A text line is answered whole; `start` counts its values from 0.

  auto request() const { return std::tuple{bus, address.unit_id, address.table, every}; }
  auto place() const { return std::tuple{request(), address.start, rank}; }
  int end() const { return address.start + width; }
};

bool is_bits(Table table) { return table == Table::coil || table == Table::discrete_input; }

bool is_answered_whole(const Bus& bus) {
  switch (kind_of(bus)) {
    case WireKind::modbus_tcp: case WireKind::modbus_rtu: return false;
    case WireKind::serial_lines: return true;
  }
  ENSURE(false);
}

std::vector<Wanted> everything_wanted(const Rig& rig) {
  std::vector<Wanted> all;
  for (std::size_t i = 0; i < rig.channels.size(); ++i) {
    const Channel& channel = rig.channels[i];
    if (!channel.bus) continue;  // Read by hand.
    const bool line = is_answered_whole(rig.buses[channel.bus->at()]);
    const int width = line || is_bits(channel.address.table) ? 1 : words_of(channel.type);
    all.push_back({*channel.bus, channel.address, width, channel.every, i, ChannelId{i}, {}, line});
  }
  for (std::size_t i = 0; i < rig.inputs.size(); ++i) {
    const Input& input = rig.inputs[i];
    all.push_back({input.bus, input.address, 1, input.every, rig.channels.size() + i, std::nullopt, InputId{i}, false});
  }
  return all;
}

// What one request reads: neighbours in ascending order of address.
using Request = std::vector<Wanted>;

int end_of(const Request& request) {
  int end = 0;
  for (const Wanted& wanted : request) end = std::max(end, wanted.end());
  return end;
}

bool fits(const Request& request, const Wanted& next) {
  const Wanted& first = request.front();
  if (first.request() != next.request()) return false;
  if (first.line) return true;
  const Reach reach = reach_of(first.address.table);
  const int end = end_of(request);
  return next.address.start - end <= reach.gap && std::max(end, next.end()) - first.address.start <= reach.most;
}

std::vector<Request> requests_of(std::vector<Wanted> all) {
  std::sort(all.begin(), all.end(), [](const Wanted& a, const Wanted& b) { return a.place() < b.place(); });
  std::vector<Request> requests;
  for (Wanted& wanted : all) {
    if (requests.empty() || !fits(requests.back(), wanted)) requests.emplace_back();
    requests.back().push_back(wanted);
  }
  return requests;
}

// Members in the order of the rig, and so the requests by their earliest member.
void put_in_order(std::vector<Request>& requests) {
  const auto earlier = [](const Wanted& a, const Wanted& b) { return a.rank < b.rank; };
  for (Request& request : requests) std::sort(request.begin(), request.end(), earlier);
  std::sort(requests.begin(), requests.end(),
            [](const Request& a, const Request& b) { return a.front().rank < b.front().rank; });
}

Block block_of(const Request& request) {
  const Wanted& any = request.front();
  Block block{any.bus, any.address.unit_id, any.address.table, any.address.start, 1, any.every, {}, {}};
  for (const Wanted& wanted : request) block.start = std::min(block.start, any.line ? 0 : wanted.address.start);
  block.count = end_of(request) - block.start;
  for (const Wanted& wanted : request) {
    const int offset = wanted.address.start - block.start;
    if (wanted.channel)
      block.channels.push_back({*wanted.channel, offset});
    else
      block.inputs.push_back({wanted.input, offset});
  }
  return block;
}

}  // namespace

PollPlan poll_plan(const Rig& rig) {
  std::vector<Request> requests = requests_of(everything_wanted(rig));
  put_in_order(requests);
  PollPlan plan;
  for (const Request& request : requests) plan.blocks.push_back(block_of(request));
  return plan;
}

}  // namespace standfast
