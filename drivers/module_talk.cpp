#include "drivers/module_talk.hpp"

namespace standfast {

ModuleTalk::ModuleTalk(ModbusConnection& connection, int unit_id, Instant deadline)
    : connection_{connection}, unit_id_{unit_id}, deadline_{deadline}, may_talk_{connection.begin_talk(deadline)} {}

ModuleTalk::~ModuleTalk() {
  if (may_talk_) connection_.end_talk();
}

ModbusConnection::Answer ModuleTalk::ask(const ModbusRequest& request) {
  if (!may_talk_) return {Flaw::no_answer, {}, false};
  if (!connection_.connected()) return {Flaw::not_connected, {}, false};
  return connection_.ask(request, deadline_);
}

std::span<const std::uint8_t> ModuleTalk::read(Table table, Run run) {
  const ModbusConnection::Answer answer = ask(read_request({unit_id_, table, run.start}, run.count));
  note(answer.flaw);
  return answer.pdu;
}

std::span<const std::uint8_t> ModuleTalk::read_if_there(Table table, Run run) {
  const ModbusConnection::Answer answer = ask(read_request({unit_id_, table, run.start}, run.count));
  if (!is_exception(answer.flaw)) note(answer.flaw);
  return answer.pdu;
}

bool ModuleTalk::write_coils(int start, std::span<const std::uint8_t> bits) {
  const Address at{unit_id_, Table::coil, start};
  const ModbusConnection::Answer answer =
      ask(bits.size() == 1 ? write_coil(at, bits.front() != 0) : standfast::write_coils(at, bits));
  note(answer.flaw);
  return answer.flaw == Flaw::none;
}

}  // namespace standfast
