#include "drivers/make_driver.hpp"

#include <arpa/inet.h>

#include "drivers/modbus_bus.hpp"
#include "drivers/modbus_outputs.hpp"

namespace standfast {

namespace {

std::string not_in_this_version(const Bus& bus, const std::string& kind) {
  return "bus " + bus.name + ": " + kind + " is not in this version; only modbus_tcp is";
}

// Every kind of wire has its row: what it lacks, or nothing.
struct Obstacle {
  const Bus& bus;
  std::string operator()(const ModbusTcp& wire) const {
    in_addr address{};
    if (::inet_pton(AF_INET, wire.host.c_str(), &address) == 1) return {};
    return "bus " + bus.name + ": host '" + wire.host + "' is not an IPv4 address such as 192.0.2.10; names are not looked up";
  }
  std::string operator()(const ModbusRtu&) const { return not_in_this_version(bus, "modbus_rtu"); }
  std::string operator()(const SerialLines&) const { return not_in_this_version(bus, "serial_lines"); }
};

}  // namespace

Result<std::unique_ptr<Driver>, std::string> make_driver(const Bus& bus, const Clock& clock) {
  if (std::string obstacle = std::visit(Obstacle{bus}, bus.wire); !obstacle.empty()) return Failure{std::move(obstacle)};
  return std::unique_ptr<Driver>{std::make_unique<ModbusBus>(std::get<ModbusTcp>(bus.wire), clock)};
}

Result<std::unique_ptr<OutputModule>, std::string> make_output_module(const OutputModuleStatement& statement,
                                                                      const Bus& bus, const Clock& clock) {
  if (std::string obstacle = std::visit(Obstacle{bus}, bus.wire); !obstacle.empty()) return Failure{std::move(obstacle)};
  return std::unique_ptr<OutputModule>{
      std::make_unique<ModbusOutputs>(std::get<ModbusTcp>(bus.wire), statement, clock)};
}

}  // namespace standfast
