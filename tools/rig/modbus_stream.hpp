// Requests out of the bytes of a Modbus TCP connection (MODBUS Messaging on TCP/IP, 3.1.3: transaction, protocol 0, length
// of unit and PDU, unit).
#pragma once

#include <cstdint>
#include <optional>
#include <span>

#include "tools/rig/modbus_answer.hpp"

namespace standfast::rig {

struct Message {
  std::uint16_t transaction{0};
  std::uint8_t unit_id{0};
  Bytes pdu;
};

class ModbusStream {
 public:
  void add(std::span<const std::uint8_t> bytes) { held_.insert(held_.end(), bytes.begin(), bytes.end()); }
  // The next whole request; none while it is not all there, or once the bytes were no Modbus.
  std::optional<Message> next();
  bool broken() const { return broken_; }  // The connection is to be closed.

 private:
  Bytes held_;
  bool broken_{false};
};

Bytes message_bytes(const Message& message);

}  // namespace standfast::rig
