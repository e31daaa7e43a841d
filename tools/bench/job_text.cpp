#include "tools/bench/job_text.hpp"

namespace standfast::bench {
namespace {

// Words that need numbers put between them.
std::string joined(std::initializer_list<std::string> parts) {
  std::string text;
  for (const std::string& part : parts) text += part;
  return text;
}

std::string bus_of(const JobShape& shape, std::size_t answer) { return "bus" + std::to_string(answer / shape.units_on_a_bus); }

std::string channel_text(const JobShape& shape, std::size_t i) {
  const std::size_t answer = i / shape.in_an_answer;
  return joined({"  C", std::to_string(i), ": {bus: ", bus_of(shape, answer), ", unit_id: ",
                 std::to_string(answer % shape.units_on_a_bus + 1), ", input_register: ", std::to_string(i % shape.in_an_answer),
                 ", as: uint16, every: ", std::to_string(shape.poll_ms),
                 " ms, scale: {current: [4 mA, 20 mA], value: [0 mm, 50 mm], counts_per_mA: 1000}, accuracy: 0.05 mm}\n"});
}

std::string pressure_text(const JobShape& shape) {
  return joined({"  P1: {bus: bus0, unit_id: 1, input_register: ", std::to_string(shape.in_an_answer), ", as: uint16, every: ",
                 std::to_string(shape.poll_ms),
                 " ms, scale: {current: [4 mA, 20 mA], value: [0 bar, 700 bar], counts_per_mA: 1000}, accuracy: 1 bar}\n"});
}

constexpr const char* jack =
    "jacks:\n  J1: {advance: P1, area: 95 cm2, rated: 665 kN, stroke: {channel: C0, limit: 150 mm}, planned_share: 100 %}\n";

constexpr const char* head_of_rig =
    "rig: Bench\nsimulated: true\ndisplay_units: {force: kN, pressure: bar, length: mm, temperature: degC}\n";

constexpr const char* relays =
    "output_module: {bus: bus0, unit_id: 1, settle: 300 ms, outputs: {raise_permit: {coil: 0, readback: 16}, "
    "lower_permit: {coil: 1, readback: 17}, stop_relay: {coil: 2, readback: 18}, sounder: {coil: 3, readback: 19}, "
    "beacon: {coil: 4, readback: 20}, call_out: {coil: 5, readback: 21}, heartbeat: {coil: 7, period: 500 ms}}, "
    "watchdog: {holding_register: 40, counts_of: 100 ms, at_most: 2 s}, "
    "on_watchdog: [{holding_register: 41, must_read: 0}], on_power: [{holding_register: 42, must_read: 0}]}\n";

constexpr const char* end_of_plan = "  - {stage: Baseline, kind: baseline, window: 5 s, sign_off: engineer}\n";

constexpr const char* head_of_plan =
    "plan: {title: Bench, revision: A, engineer: E. Quill}\ncolumn_load: {low: 1 kN, expected: 2 kN, high: 3 kN}\nstages:\n"
    "  - stage: Commission\n    kind: commission\n    pressure_limit: 40 bar\n    sign_off: supervisor\n    limits:\n";

}  // namespace

JobBytes job_text(const JobShape& shape) {
  JobBytes job{head_of_rig, head_of_plan};
  job.rig += "buses:\n";
  const std::size_t answers = (shape.channels + shape.in_an_answer - 1) / shape.in_an_answer;
  for (std::size_t answer = 0; answer < answers; answer += shape.units_on_a_bus)
    job.rig += joined({"  ", bus_of(shape, answer), ": {modbus_tcp: {host: 127.0.0.1, port: ", std::to_string(shape.port), "}}\n"});
  job.rig += "channels:\n";
  for (std::size_t i = 0; i < shape.channels; ++i) job.rig += channel_text(shape, i);
  if (shape.with_jack) job.rig += pressure_text(shape) + jack;
  job.rig += relays;
  if (shape.limits == shape.channels) job.plan += joined({"      - {of: channel C*, ", shape.levels, "}\n"});
  else
    for (std::size_t i = 0; i < shape.limits; ++i)
      job.plan += joined({"      - {of: channel C", std::to_string(i), ", ", shape.levels, "}\n"});
  job.plan += end_of_plan;
  return job;
}

}  // namespace standfast::bench
