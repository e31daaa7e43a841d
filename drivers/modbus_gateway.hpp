// A TCP connection that may end in a gateway. Its transaction number is the gateway's: behind it, on a serial line, nothing
// numbers an answer, and one that comes after the gateway has given up waiting may be handed out for the next question.
#pragma once

#include <set>

#include "drivers/modbus_passed_on.hpp"

namespace standfast {

class ModbusGateway final : public ModbusPassedOn {
 public:
  using ModbusPassedOn::ModbusPassedOn;

  // After a flaw of a unit, or an exception by which a gateway says that it got no answer, that unit must first answer a
  // question of another shape; until then each answer has that flaw, or the one with which the proof failed.
  [[nodiscard]] Answer ask(const ModbusRequest& request, Instant deadline) override;

 private:
  [[nodiscard]] Answer exchange(const ModbusRequest& request, Instant deadline);

  std::set<int> doubtful_;  // Units.
};

}  // namespace standfast
