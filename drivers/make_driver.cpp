#include "drivers/make_driver.hpp"

#include "drivers/modbus_bus.hpp"
#include "drivers/modbus_gateway.hpp"
#include "drivers/modbus_identity.hpp"
#include "drivers/modbus_outputs.hpp"
#include "drivers/modbus_rtu.hpp"
#include "drivers/modbus_tcp.hpp"
#include "drivers/serial_lines.hpp"

namespace standfast {

namespace {

using Connection = std::unique_ptr<ModbusConnection>;
using Rank = ModbusRtuLine::Rank;

// What keeps a wire from being spoken, or nothing.
std::string obstacle_of(const Bus& bus) {
  const auto* tcp = std::get_if<ModbusTcp>(&bus.wire);
  if (tcp == nullptr || is_ip_literal(tcp->host)) return {};
  return "host '" + tcp->host + "' is not an IP address such as 192.0.2.10; names are not looked up";
}

Connection connection_to(const Bus& bus, Rank rank, const Clock& clock, SharedLines& lines) {
  Connection connection;
  if (const auto* tcp = std::get_if<ModbusTcp>(&bus.wire)) {
    connection = std::make_unique<ModbusTcpConnection>(*tcp, clock);
    if (rank == Rank::instruments) connection = std::make_unique<ModbusGateway>(std::move(connection));
  } else {
    connection = std::make_unique<ModbusRtuConnection>(lines.line_of(bus, clock), rank);
  }
  if (bus.units.empty()) return connection;
  return std::make_unique<ModbusIdentity>(std::move(connection), bus.units);
}

}  // namespace

std::shared_ptr<ModbusRtuLine> SharedLines::line_of(const Bus& bus, const Clock& clock) {
  const ModbusRtu& where = std::get<ModbusRtu>(bus.wire);
  std::weak_ptr<ModbusRtuLine>& known = by_device_[where.serial.device];
  if (auto line = known.lock(); line && line->is_as_stated(where, bus.units)) return line;
  auto line = std::make_shared<ModbusRtuLine>(where, bus.units, clock);
  known = line;
  return line;
}

Result<std::unique_ptr<Driver>, std::string> make_driver(const Bus& bus, const Clock& clock, SharedLines& lines) {
  if (std::string obstacle = obstacle_of(bus); !obstacle.empty()) return Failure{std::move(obstacle)};
  if (const auto* wire = std::get_if<SerialLines>(&bus.wire))
    return std::unique_ptr<Driver>{std::make_unique<SerialLineBus>(*wire, clock)};
  return std::unique_ptr<Driver>{
      std::make_unique<ModbusBus>(connection_to(bus, Rank::instruments, clock, lines), clock)};
}

Result<std::unique_ptr<OutputModule>, std::string> make_output_module(const OutputModuleStatement& statement,
                                                                      const Bus& bus, const Clock& clock,
                                                                      SharedLines& lines) {
  if (std::string obstacle = obstacle_of(bus); !obstacle.empty()) return Failure{std::move(obstacle)};
  if (std::holds_alternative<SerialLines>(bus.wire)) return Failure{std::string{"an output module cannot speak serial_lines"}};
  return std::unique_ptr<OutputModule>{
      std::make_unique<ModbusOutputs>(connection_to(bus, Rank::outputs, clock, lines), statement, clock)};
}

}  // namespace standfast
