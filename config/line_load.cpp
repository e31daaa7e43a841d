#include "config/line_load.hpp"

#include <cmath>

#include "config/ensure.hpp"
#include "config/line_time.hpp"
#include "config/runs.hpp"
#include "config/wire_kind.hpp"

namespace standfast {
namespace {

// One exchange in the steady state: every run of coils read and written, every run of read-backs read.
Duration exchange_time(const OutputModuleStatement& module, const SerialSettings& serial) {
  std::vector<int> coils, inputs;
  for (const Output& output : module.outputs) {
    coils.push_back(output.coil);
    if (output.readback) inputs.push_back(*output.readback);
  }
  Duration sum{};
  const auto add = [&](std::size_t characters) { sum = sum + rtu_cycle(serial, characters) + device_turnaround; };
  for (const Run run : runs_of(coils)) {
    add(rtu_read_characters(Table::coil, run.count));
    add(rtu_write_coils_characters(run.count));
  }
  for (const Run run : runs_of(inputs)) add(rtu_read_characters(Table::discrete_input, run.count));
  return sum;
}

// The wire on which outputs and instruments take turns, if it is one: on TCP each has a connection of its own, and no output
// module speaks lines of text.
const ModbusRtu* wire_in_turns(const Bus& bus) {
  switch (kind_of(bus)) {
    case WireKind::modbus_rtu: return &std::get<ModbusRtu>(bus.wire);
    case WireKind::modbus_tcp: case WireKind::serial_lines: return nullptr;
  }
  ENSURE(false);
}

double share_of_outputs(const Rig& rig) {
  const OutputModuleStatement& module = *rig.output_module;
  const ModbusRtu* rtu = wire_in_turns(rig.buses[module.bus.at()]);
  if (rtu == nullptr) return 0;
  const double busy = exchange_time(module, rtu->serial).seconds();
  return busy / (busy + pause_between_exchanges(module.heartbeat_period).seconds());
}

Duration slowest_answer(const Bus& bus, const ModbusRtu& rtu, int unit_id) {
  for (const UnitStatement& unit : bus.units)
    if (unit.unit_id == unit_id && unit.slowest_answer) return *unit.slowest_answer;
  return rtu.slowest_answer;
}

}  // namespace

std::optional<Duration> BusLoad::achievable() const {
  if (outputs >= nearly_full) return std::nullopt;
  const double stretched = most_frequent.seconds() * polls / (nearly_full - outputs);
  return milliseconds(static_cast<std::int64_t>(std::ceil(stretched * 1000 - 1e-6)));
}

std::vector<BusLoad> bus_loads(const Rig& rig, const PollPlan& polls, const std::vector<Duration>& periods) {
  std::vector<BusLoad> loads(rig.buses.size());
  for (std::size_t i = 0; i < periods.size(); ++i) {
    if (periods[i].ns <= 0) continue;
    const Block& block = polls.blocks[i];
    BusLoad& load = loads[block.bus.at()];
    load.requests_a_second += 1 / periods[i].seconds();
    load.polls += request_time(rig.buses[block.bus.at()], block).seconds() / periods[i].seconds();
    if (load.most_frequent.ns == 0 || periods[i] < load.most_frequent) load.most_frequent = periods[i];
  }
  if (rig.output_module) loads[rig.output_module->bus.at()].outputs = share_of_outputs(rig);
  return loads;
}

// An instrument in doubt is asked twice in a row: one question that it answers, and one on which it is silent. An exchange
// that found no turn is tried again behind the pause.
std::optional<SharedLine> shared_line(const Rig& rig, const PollPlan& polls) {
  if (!rig.output_module) return std::nullopt;
  const BusId id = rig.output_module->bus;
  const Bus& bus = rig.buses[id.at()];
  const ModbusRtu* rtu = wire_in_turns(bus);
  if (rtu == nullptr) return std::nullopt;
  SharedLine line;
  for (const Block& block : polls.blocks) {
    if (block.bus != id) continue;
    line.longest_request = std::max(line.longest_request, request_time(bus, block));
    line.slowest_answer = std::max(line.slowest_answer, slowest_answer(bus, *rtu, block.unit_id));
  }
  if (line.longest_request.ns == 0) return std::nullopt;
  line.withdrawal = line.longest_request + std::max(bus.timeout, line.slowest_answer) +
                    pause_between_exchanges(rig.output_module->heartbeat_period);
  return line;
}

const SerialSettings* serial_of(const Bus& bus) {
  switch (kind_of(bus)) {
    case WireKind::modbus_tcp: return nullptr;
    case WireKind::modbus_rtu: return &std::get<ModbusRtu>(bus.wire).serial;
    case WireKind::serial_lines: return &std::get<SerialLines>(bus.wire).serial;
  }
  ENSURE(false);
}

}  // namespace standfast
