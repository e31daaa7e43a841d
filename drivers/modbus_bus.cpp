#include "drivers/modbus_bus.hpp"

#include <utility>

namespace standfast {

namespace {

bool is_told(Flaw flaw) { return flaw == Flaw::not_connected || flaw == Flaw::line_in_use || flaw == Flaw::wrong_instrument; }

}  // namespace

ModbusBus::ModbusBus(std::unique_ptr<ModbusConnection> connection, const Clock& clock)
    : clock_{clock}, connection_{std::move(connection)} {}

ModbusConnection::Answer ModbusBus::answer_to(const Block& block, Instant deadline) {
  const ModbusRequest request = read_request({block.unit_id, block.table, block.start}, block.count);
  ModbusConnection::Answer answer{Flaw::not_connected, {}, false};
  for (int connections = 0; connections < 2; ++connections) {
    if (!connection_->connect(deadline)) return {connection_->refusal(), {}, false};
    answer = connection_->ask(request, deadline);
    if (answer.asked || answer.flaw != Flaw::not_connected) return answer;
  }
  return answer;
}

Scan ModbusBus::ask(BlockId id, const Block& block, Instant deadline) {
  const ModbusConnection::Answer answer = answer_to(block, deadline);
  Scan scan{id, clock_.now(), Words{}, answer.flaw};
  const bool bits = block.table == Table::coil || block.table == Table::discrete_input;
  if (answer.flaw != Flaw::none) {
    if (bits) scan.raw = Bits{};
    if (is_told(answer.flaw))
      if (std::string trouble = connection_->trouble(); !trouble.empty()) scan.raw = std::move(trouble);
  } else if (bits) {
    scan.raw = bits_in(answer.pdu, block.count);
  } else {
    scan.raw = words_in(answer.pdu);
  }
  return scan;
}

}  // namespace standfast
