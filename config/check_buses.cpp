// What no single bus, channel or unit can see: two buses on one device, units that nothing is read from, and answers that are
// waited for longer than what is read over their bus stays fresh.
#include <algorithm>

#include "config/duration_text.hpp"
#include "config/ensure.hpp"
#include "config/line_load.hpp"
#include "config/line_time.hpp"
#include "config/plan_draft.hpp"
#include "config/poll_periods.hpp"
#include "config/rig_draft.hpp"
#include "config/wire_kind.hpp"

namespace standfast {
namespace {

Spot spot_of(const Bus& bus) { return {bus.place, std::max(1, static_cast<int>(bus.name.size()))}; }

// Two that ask on one line garble each other, so the second would never open it.
void judge_pair(const Bus& first, const Bus& second, Complaints& complaints) {
  const SerialSettings *a = serial_of(first), *b = serial_of(second);
  if (a != nullptr && b != nullptr && a->device == b->device) {
    complaints.add("E-device-twice", spot_of(second),
                   "buses " + first.name + " and " + second.name + " are on one serial device, " + a->device,
                   {a->device, "one bus for each serial line, with all that is wired to it", {}});
  }
  if (a != nullptr || b != nullptr) return;
  const auto &x = std::get<ModbusTcp>(first.wire), &y = std::get<ModbusTcp>(second.wire);
  if (x.host != y.host || x.port != y.port) return;
  const std::string where = x.host + " port " + std::to_string(x.port);
  complaints.add("W-host-twice", spot_of(second), "buses " + first.name + " and " + second.name + " are both " + where,
                 {where, "one bus, unless this device serves several connections at once", {}});
}

std::vector<bool> used_buses(const Rig& rig) {
  std::vector<bool> used(rig.buses.size(), false);
  for (const Channel& channel : rig.channels)
    if (channel.bus) used[channel.bus->at()] = true;
  for (const Input& input : rig.inputs)
    if (input.bus.at() < used.size()) used[input.bus.at()] = true;
  if (rig.output_module && rig.output_module->bus.at() < used.size()) used[rig.output_module->bus.at()] = true;
  return used;
}

bool is_spoken_to(const Rig& rig, BusId bus, int unit_id) {
  const auto is_there = [&](const auto& thing) { return thing.bus == bus && thing.address.unit_id == unit_id; };
  return std::ranges::any_of(rig.channels, is_there) || std::ranges::any_of(rig.inputs, is_there) ||
         (rig.output_module && rig.output_module->bus == bus && rig.output_module->unit_id == unit_id);
}

// What is stated of a unit that is mistyped guards nobody: its identity is never asked for.
void check_used(RigDraft& draft) {
  const std::vector<bool> used = used_buses(draft.rig);
  for (std::size_t i = 0; i < used.size(); ++i) {
    const Bus& bus = draft.rig.buses[i];
    if (!used[i]) {
      draft.complaints.add("W-unused", spot_of(bus), "nothing is read over bus " + bus.name,
                           {{}, "a bus that something is wired to", {}});
      continue;
    }
    for (const UnitStatement& unit : bus.units) {
      if (is_spoken_to(draft.rig, BusId{i}, unit.unit_id)) continue;
      const std::string id = std::to_string(unit.unit_id);
      draft.complaints.add("W-unused", spot_of(bus),
                           "'units' of bus " + bus.name + " speaks of unit " + id + ", and nothing is read from it",
                           {id, "the unit_id of a channel, an input or the output module on this bus", {}});
    }
  }
}

// How long the whole bus waits behind an answer that does not come, and by whose word.
struct Wait {
  Duration time{};
  std::string stated;
};

Wait longest_wait(const Rig& rig, BusId id) {
  const Bus& bus = rig.buses[id.at()];
  Wait wait{bus.timeout, "'timeout'"};
  const auto consider = [&wait](Duration time, const std::string& stated) {
    if (time > wait.time) wait = {time, stated};
  };
  switch (kind_of(bus)) {
    case WireKind::modbus_tcp: break;
    case WireKind::modbus_rtu: consider(std::get<ModbusRtu>(bus.wire).slowest_answer, "'slowest_answer'"); break;
    case WireKind::serial_lines: consider(std::get<SerialLines>(bus.wire).slowest_answer, "'slowest_answer'"); break;
  }
  for (const UnitStatement& unit : bus.units)
    if (unit.slowest_answer && is_spoken_to(rig, id, unit.unit_id))
      consider(*unit.slowest_answer, "'slowest_answer' of unit " + std::to_string(unit.unit_id));
  return wait;
}

struct Polled {
  ChannelId channel;
  Duration every{}, stale_after{};
};

// Until the next answer is there. On Modbus RTU a unit that was silent is first asked a question of another shape.
Duration next_answer(const Rig& rig, const PollPlan& polls, BusId id) {
  const Bus& bus = rig.buses[id.at()];
  Duration longest{};
  for (const Block& block : polls.blocks)
    if (block.bus == id) longest = std::max(longest, request_time(bus, block));
  switch (kind_of(bus)) {
    case WireKind::modbus_rtu: return longest * 2;
    case WireKind::modbus_tcp: case WireKind::serial_lines: return longest;
  }
  ENSURE(false);
}

std::string whole_milliseconds(Duration duration) { return duration_text(milliseconds((duration.ns + 999'999) / 1'000'000)); }

// What is waited for longer than it stays fresh is refused. Where one lost answer alone makes it stale, that is told: it is
// asked for again when it is due again and the wait is over.
void judge_wait(const Rig& rig, const PollPlan& polls, Polled polled, Spot spot, Complaints& complaints) {
  const Channel& channel = rig.channels[polled.channel.at()];
  if (!channel.bus) return;
  const Wait wait = longest_wait(rig, *channel.bus);
  const std::string bus = "bus " + rig.buses[channel.bus->at()].name;
  const std::string stale = "channel " + channel.name + " is stale after " + duration_text(polled.stale_after);
  if (wait.time > polled.stale_after) {
    complaints.add("E-stale", spot,
                   "behind a lost answer " + bus + " waits " + duration_text(wait.time) + " (" + wait.stated + "), and " + stale,
                   {duration_text(wait.time), "at most " + duration_text(polled.stale_after) + " there, or a longer 'stale_after'", {}});
    return;
  }
  const Duration exchange = next_answer(rig, polls, *channel.bus);
  const Duration needed = polled.every + std::max(polled.every, wait.time) + exchange;
  if (needed <= polled.stale_after) return;
  const std::string again = wait.time > polled.every ? bus + " then waits " + duration_text(wait.time) + " (" + wait.stated + ")"
                                                      : "the next is asked for as much later";
  complaints.add("W-stale", spot,
                 "one lost answer is enough: " + stale + ", it is read every " + duration_text(polled.every) + ", " + again +
                     ", and the next answer takes up to " + whole_milliseconds(exchange),
                 {duration_text(polled.stale_after), "a 'stale_after' of at least " + whole_milliseconds(needed) + ", or shorter polls",
                  {}});
}

}  // namespace

void check_buses(RigDraft& draft) {
  const auto& buses = draft.rig.buses;
  for (std::size_t i = 0; i < buses.size(); ++i)
    for (std::size_t j = 0; j < i; ++j) judge_pair(buses[j], buses[i], draft.complaints);
  check_used(draft);
  const PollPlan polls = poll_plan(draft.rig);
  for (std::size_t i = 0; i < draft.rig.channels.size(); ++i) {
    const Channel& channel = draft.rig.channels[i];
    judge_wait(draft.rig, polls, {ChannelId{i}, channel.every, channel.stale_after},
               {channel.place, std::max(1, static_cast<int>(channel.name.size()))}, draft.complaints);
  }
}

void check_waits(PlanDraft& draft) {
  const PollPlan polls = poll_plan(draft.rig);
  for (const StageDraft& stage : draft.stages) {
    const std::vector<Duration> periods = channel_periods(draft.rig, polls, &stage.stage);
    for (const Poll& poll : stage.stage.polls)
      judge_wait(draft.rig, polls, {poll.channel, periods[poll.channel.at()], poll.stale_after}, stage.polls_spot, draft.complaints);
  }
}

}  // namespace standfast
