#include "drivers/modbus_rtu.hpp"

#include <algorithm>

namespace standfast {

ModbusRtuConnection::~ModbusRtuConnection() {
  if (talking_) line_->give_back();
}

bool ModbusRtuConnection::begin_talk(Instant deadline) {
  if (!talking_) talking_ = line_->take(rank_, deadline);
  return talking_;
}

void ModbusRtuConnection::end_talk() {
  if (talking_) line_->give_back();
  talking_ = false;
}

bool ModbusRtuConnection::connect(Instant deadline) {
  if (connected()) return true;
  const bool within_talk = talking_;
  refusal_ = Flaw::no_answer;
  trouble_.clear();
  if (!begin_talk(deadline)) return false;
  refusal_ = line_->open();
  trouble_ = refusal_ == Flaw::none ? std::string{} : line_->trouble();
  session_ = line_->session();
  if (!within_talk) end_talk();
  return refusal_ == Flaw::none;
}

ModbusConnection::Answer ModbusRtuConnection::ask(const ModbusRequest& request, Instant deadline) {
  if (!connected()) return {Flaw::not_connected, {}, false};  // Another speaker found it gone.
  const bool within_talk = talking_;
  if (!begin_talk(deadline)) return {Flaw::no_answer, {}, false};
  Answer answer = line_->ask(request, rank_, deadline);
  std::ranges::copy(answer.pdu, answer_.begin());
  answer.pdu = {answer_.data(), answer.pdu.size()};
  if (!within_talk) end_talk();
  return answer;
}

}  // namespace standfast
