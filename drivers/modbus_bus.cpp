#include "drivers/modbus_bus.hpp"

namespace standfast {

ModbusBus::ModbusBus(const ModbusTcp& where, const Clock& clock) : clock_{clock}, connection_{where, clock} {}

ModbusTcpConnection::Answer ModbusBus::answer_to(const Block& block, Instant deadline) {
  ModbusRequest request = read_request({block.unit_id, block.table, block.start}, block.count);
  ModbusTcpConnection::Answer answer{Flaw::not_connected, {}};
  for (int connections = 0; connections < 2; ++connections) {
    if (!connection_.connect(deadline)) return answer;
    answer = connection_.ask(request, deadline);
    if (answer.asked || answer.flaw != Flaw::not_connected) return answer;
  }
  return answer;
}

Scan ModbusBus::ask(BlockId id, const Block& block, Instant deadline) {
  const ModbusTcpConnection::Answer answer = answer_to(block, deadline);
  Scan scan{id, clock_.now(), Words{}, answer.flaw};
  const bool bits = block.table == Table::coil || block.table == Table::discrete_input;
  if (answer.flaw != Flaw::none) {
    if (bits) scan.raw = Bits{};
  } else if (bits) {
    scan.raw = bits_in(answer.frame, block.count);
  } else {
    scan.raw = words_in(answer.frame);
  }
  return scan;
}

}  // namespace standfast
