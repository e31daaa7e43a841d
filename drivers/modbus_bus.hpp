// A bus of instruments that speak Modbus, over whatever wire.
#pragma once

#include <memory>

#include "drivers/modbus_connection.hpp"

namespace standfast {

class ModbusBus final : public Driver {
 public:
  ModbusBus(std::unique_ptr<ModbusConnection> connection, const Clock& clock);
  // A connection on which the instrument has hung up since the last request is made anew within the same request. The
  // raw part of a flawed scan is empty, or a text: the system's words, or what was found instead of the stated identity.
  [[nodiscard]] Scan ask(BlockId id, const Block& block, Instant deadline) override;
  [[nodiscard]] Instant free_at() const override { return connection_->free_at(); }

 private:
  [[nodiscard]] ModbusConnection::Answer answer_to(const Block& block, Instant deadline);

  const Clock& clock_;
  std::unique_ptr<ModbusConnection> connection_;
};

}  // namespace standfast
