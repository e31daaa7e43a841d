#include "daemon/core/same_outputs.hpp"

#include <algorithm>

namespace standfast {
namespace {

template <class T, class Same>
bool all_same(const std::vector<T>& one, const std::vector<T>& other, Same same) {
  return std::equal(one.begin(), one.end(), other.begin(), other.end(), same);
}

bool same_bus(const Bus& one, const Bus& other) {
  return one.name == other.name && one.wire == other.wire && one.timeout == other.timeout && one.units == other.units;
}

bool same_output(const Output& one, const Output& other) {
  return one.kind == other.kind && one.coil == other.coil && one.readback == other.readback;
}

bool same_register(const ModuleRegister& one, const ModuleRegister& other) {
  return one.address == other.address && one.wanted == other.wanted;
}

bool same_module(const Rig& rig, const Rig& another) {
  const OutputModuleStatement &one = *rig.output_module, &other = *another.output_module;
  return same_bus(rig.buses[one.bus.at()], another.buses[other.bus.at()]) && one.unit_id == other.unit_id &&
         all_same(one.outputs, other.outputs, same_output) && one.watchdog_register == other.watchdog_register &&
         one.watchdog_unit == other.watchdog_unit && one.watchdog_at_most == other.watchdog_at_most &&
         all_same(one.safe_values, other.safe_values, same_register) &&
         all_same(one.power_on_values, other.power_on_values, same_register) && one.settle == other.settle &&
         one.heartbeat_period == other.heartbeat_period;
}

std::string name_of(const Rig& rig, const std::optional<ChannelId>& channel) {
  return channel ? rig.channels[channel->at()].name : std::string();
}

bool same_inputs(const Rig& rig, const Rig& another) {
  return all_same(rig.inputs, another.inputs, [&](const Input& one, const Input& other) {
    return one.name == other.name && one.meaning == other.meaning && one.address == other.address && one.every == other.every &&
           one.normally_closed == other.normally_closed && same_bus(rig.buses[one.bus.at()], another.buses[other.bus.at()]);
  });
}

bool same_jacks(const Rig& rig, const Rig& another) {
  return all_same(rig.jacks, another.jacks, [&](const Jack& one, const Jack& other) {
    return one.name == other.name && one.area == other.area && one.rated == other.rated &&
           name_of(rig, one.advance) == name_of(another, other.advance) &&
           name_of(rig, one.retract) == name_of(another, other.retract) &&
           name_of(rig, one.stroke_channel) == name_of(another, other.stroke_channel);
  });
}

bool same_circuits(const Rig& rig, const Rig& another) {
  return all_same(rig.circuits, another.circuits, [](const Circuit& one, const Circuit& other) {
    return one.name == other.name && one.jacks == other.jacks && one.pressure_taken_at == other.pressure_taken_at &&
           one.check_valve == other.check_valve && one.lock_nut == other.lock_nut;
  });
}

}  // namespace

bool same_outputs(const Rig& one, const Rig& other) {
  if (one.output_module.has_value() != other.output_module.has_value() || one.simulated != other.simulated) return false;
  return (!one.output_module || same_module(one, other)) && same_inputs(one, other) && same_jacks(one, other) &&
         same_circuits(one, other);
}

}  // namespace standfast
