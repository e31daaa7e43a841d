// Which of its wires a bus is, for every place that must not take one for another: a `switch` over it has no default, so
// that the compiler names each of them where a further wire comes in.
#pragma once

#include "config/rig.hpp"

namespace standfast {

enum class WireKind : std::uint8_t { modbus_tcp, modbus_rtu, serial_lines };

constexpr WireKind kind_of(const Bus& bus) {
  struct Kinds {
    constexpr WireKind operator()(const ModbusTcp&) const { return WireKind::modbus_tcp; }
    constexpr WireKind operator()(const ModbusRtu&) const { return WireKind::modbus_rtu; }
    constexpr WireKind operator()(const SerialLines&) const { return WireKind::serial_lines; }
  };
  return std::visit(Kinds{}, bus.wire);
}

}  // namespace standfast
