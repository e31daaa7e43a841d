#include "drivers/modbus_gateway.hpp"

namespace standfast {

ModbusConnection::Answer ModbusGateway::exchange(const ModbusRequest& request, Instant deadline) {
  Answer answer = ModbusPassedOn::ask(request, deadline);
  if (is_no_answer_of_the_unit(answer.flaw)) doubtful_.insert(request.unit_id());
  return answer;
}

ModbusConnection::Answer ModbusGateway::ask(const ModbusRequest& request, Instant deadline) {
  if (doubtful_.contains(request.unit_id())) {
    Answer proof = exchange(another_shape(request), deadline);
    if (is_no_answer_of_the_unit(proof.flaw)) return proof;
    doubtful_.erase(request.unit_id());
  }
  return exchange(request, deadline);
}

}  // namespace standfast
