#include "tools/rig/modbus_stream.hpp"

namespace standfast::rig {
namespace {

constexpr std::size_t header = 7;       // Up to and with the unit.
constexpr int longest = 254;            // Unit and PDU.

}  // namespace

std::optional<Message> ModbusStream::next() {
  if (broken_ || held_.size() < header) return std::nullopt;
  const int protocol = held_[2] << 8 | held_[3];
  const int length = held_[4] << 8 | held_[5];
  if (protocol != 0 || length < 2 || length > longest) {
    broken_ = true;
    return std::nullopt;
  }
  const std::size_t whole = 6 + static_cast<std::size_t>(length);
  if (held_.size() < whole) return std::nullopt;
  Message message{static_cast<std::uint16_t>(held_[0] << 8 | held_[1]), held_[6],
              {held_.begin() + header, held_.begin() + static_cast<std::ptrdiff_t>(whole)}};
  held_.erase(held_.begin(), held_.begin() + static_cast<std::ptrdiff_t>(whole));
  return message;
}

Bytes message_bytes(const Message& message) {
  const std::size_t length = message.pdu.size() + 1;
  Bytes out{static_cast<std::uint8_t>(message.transaction >> 8), static_cast<std::uint8_t>(message.transaction), 0, 0,
            static_cast<std::uint8_t>(length >> 8), static_cast<std::uint8_t>(length), message.unit_id};
  out.insert(out.end(), message.pdu.begin(), message.pdu.end());
  return out;
}

}  // namespace standfast::rig
