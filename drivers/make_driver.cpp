#include "drivers/make_driver.hpp"

#include "drivers/modbus_bus.hpp"
#include "drivers/modbus_outputs.hpp"

namespace standfast {

namespace {

// Every kind of wire has its row: what keeps it from being spoken, or nothing.
struct Obstacle {
  std::string operator()(const ModbusTcp& wire) const {
    if (is_ip_literal(wire.host)) return {};
    return "host '" + wire.host + "' is not an IP address such as 192.0.2.10; names are not looked up";
  }
  std::string operator()(const ModbusRtu&) const { return "modbus_rtu is not in this version; only modbus_tcp is"; }
  std::string operator()(const SerialLines&) const { return "serial_lines is not in this version; only modbus_tcp is"; }
};

}  // namespace

Result<std::unique_ptr<Driver>, std::string> make_driver(const Bus& bus, const Clock& clock) {
  if (std::string obstacle = std::visit(Obstacle{}, bus.wire); !obstacle.empty()) return Failure{std::move(obstacle)};
  return std::unique_ptr<Driver>{std::make_unique<ModbusBus>(std::get<ModbusTcp>(bus.wire), clock)};
}

Result<std::unique_ptr<OutputModule>, std::string> make_output_module(const OutputModuleStatement& statement,
                                                                      const Bus& bus, const Clock& clock) {
  if (std::string obstacle = std::visit(Obstacle{}, bus.wire); !obstacle.empty()) return Failure{std::move(obstacle)};
  return std::unique_ptr<OutputModule>{
      std::make_unique<ModbusOutputs>(std::get<ModbusTcp>(bus.wire), statement, clock)};
}

}  // namespace standfast
