#include "drivers/modbus_identity.hpp"

#include <algorithm>

namespace standfast {

ModbusIdentity::ModbusIdentity(std::unique_ptr<ModbusConnection> inner, std::vector<UnitStatement> units)
    : ModbusPassedOn{std::move(inner)}, units_{std::move(units)} {}

bool ModbusIdentity::connect(Instant deadline) {
  if (!connected()) {
    known_.clear();
    found_.clear();  // Of an answer over the connection that is gone.
  }
  return ModbusPassedOn::connect(deadline);
}

ModbusConnection::Answer ModbusIdentity::identify(const UnitIdentity& identity, int unit_id, Instant deadline) {
  Answer answer = ModbusPassedOn::ask(read_request({unit_id, identity.table, identity.address}, 1), deadline);
  // Who does not have the register is not the instrument that does.
  const bool refused = answer.flaw == Flaw::exception_refused;
  if (answer.flaw != Flaw::none && !refused) return answer;
  if (const std::uint16_t reads = refused ? std::uint16_t{0} : words_in(answer.pdu).front(); refused || reads != identity.reads) {
    found_ = std::string(identity.table == Table::input_register ? "input" : "holding") + " register " +
             std::to_string(identity.address) + (refused ? " is refused, " : " reads " + std::to_string(reads) + ", ") +
             std::to_string(identity.reads) + " is stated";
    return {Flaw::wrong_instrument, {}};
  }
  known_.insert(unit_id);
  return answer;
}

ModbusConnection::Answer ModbusIdentity::ask(const ModbusRequest& request, Instant deadline) {
  found_.clear();
  const auto unit = std::ranges::find(units_, request.unit_id(), &UnitStatement::unit_id);
  const bool stated = unit != units_.end() && unit->identity;
  if (stated && !known_.contains(unit->unit_id))
    if (const Answer answer = identify(*unit->identity, unit->unit_id, deadline); answer.flaw != Flaw::none) return answer;
  Answer answer = ModbusPassedOn::ask(request, deadline);
  // Behind whatever was no good answer somebody else may be there next time.
  if (answer.flaw != Flaw::none) known_.erase(request.unit_id());
  return answer;
}

}  // namespace standfast
