// A TCP connection that may end in a gateway. Its transaction number is the gateway's: behind it, on a serial line, nothing
// numbers an answer, and one that comes after the gateway has given up waiting may be handed out for the next question.
#pragma once

#include <memory>
#include <set>

#include "drivers/modbus_connection.hpp"

namespace standfast {

class ModbusGateway final : public ModbusConnection {
 public:
  explicit ModbusGateway(std::unique_ptr<ModbusConnection> inner);

  // After a flaw of a unit, or an exception by which a gateway says that it got no answer, that unit must first answer a
  // question of another shape; until then each answer has that flaw, or the one with which the proof failed.
  [[nodiscard]] Answer ask(const ModbusRequest& request, Instant deadline) override;

  [[nodiscard]] bool connect(Instant deadline) override { return inner_->connect(deadline); }
  [[nodiscard]] bool connected() const override { return inner_->connected(); }
  void close() override { inner_->close(); }
  [[nodiscard]] Flaw refusal() const override { return inner_->refusal(); }
  [[nodiscard]] bool begin_talk(Instant deadline) override { return inner_->begin_talk(deadline); }
  void end_talk() override { inner_->end_talk(); }
  [[nodiscard]] Instant free_at() const override { return inner_->free_at(); }

 private:
  [[nodiscard]] Answer exchange(const ModbusRequest& request, Instant deadline);

  const std::unique_ptr<ModbusConnection> inner_;
  std::set<int> doubtful_;  // Units.
};

}  // namespace standfast
