// A bus of instruments that speak Modbus TCP.
#pragma once

#include "drivers/driver.hpp"
#include "drivers/modbus_tcp.hpp"

namespace standfast {

class ModbusBus final : public Driver {
 public:
  ModbusBus(const ModbusTcp& where, const Clock& clock);
  // A connection on which the instrument has hung up since the last request is made anew within the same request. After
  // an exception the connection stays; after any other flaw it is closed. The raw part of a flawed scan is empty.
  [[nodiscard]] Scan ask(BlockId id, const Block& block, Instant deadline) override;

 private:
  [[nodiscard]] ModbusTcpConnection::Answer answer_to(const Block& block, Instant deadline);

  const Clock& clock_;
  ModbusTcpConnection connection_;
};

}  // namespace standfast
