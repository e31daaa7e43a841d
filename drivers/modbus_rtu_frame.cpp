#include "drivers/modbus_rtu_frame.hpp"

#include <algorithm>

#include "config/ensure.hpp"

namespace standfast {

namespace {

constexpr std::size_t checksum_bytes = 2;
constexpr std::uint8_t exception_bit = 0x80;
constexpr std::size_t shortest_frame = 1 + exception_answer_bytes + checksum_bytes;

using Bytes = std::span<const std::uint8_t>;

// Of our unit and function, whatever else is wrong with it.
bool is_ours(Bytes sent, Bytes received) {
  return received[0] == sent[0] && (received[1] & ~exception_bit) == sent[1];
}

// Can this beginning of a frame no longer become the answer?
bool is_doomed(Bytes sent, Bytes received) {
  if (!is_ours(sent, received)) return true;
  const auto asked = pdu_of_rtu(sent);
  return received[1] == sent[1] && table_read_by(asked) && received[2] + 2u != right_answer_bytes(asked);
}

}  // namespace

ModbusFrame rtu_frame(const ModbusRequest& request) {
  const auto pdu = request.pdu();
  ModbusFrame frame;
  frame.bytes[0] = request.unit_id();
  std::ranges::copy(pdu, frame.bytes.begin() + 1);
  frame.size = 1 + pdu.size();
  const std::uint16_t crc = crc16(frame.view());
  frame.bytes[frame.size++] = static_cast<std::uint8_t>(crc);
  frame.bytes[frame.size++] = static_cast<std::uint8_t>(crc >> 8);
  return frame;
}

std::optional<Flaw> judge_rtu_answer(std::span<const std::uint8_t> sent, std::span<const std::uint8_t> received) {
  ENSURE(sent.size() >= 1 + 5 + checksum_bytes);
  if (received.size() < 2) return std::nullopt;
  const auto asked = pdu_of_rtu(sent);
  const bool exception = received[1] == (asked[0] | exception_bit);
  const std::size_t size = 1 + (exception ? exception_answer_bytes : right_answer_bytes(asked)) + checksum_bytes;
  if (received.size() > size) return Flaw::malformed;
  if (received.size() < size) {
    // Only then is the checksum looked at within a frame: by chance it is right once in 65536 beginnings.
    const bool whole = received.size() >= shortest_frame && is_doomed(sent, received) && crc16(received) == 0;
    return whole ? std::optional{judge_rtu_rest(sent, received)} : std::nullopt;
  }
  if (crc16(received) != 0) return Flaw::garbled;
  if (received[0] != sent[0]) return Flaw::foreign;
  return judge_whole(asked, pdu_of_rtu(received));
}

Flaw judge_rtu_rest(std::span<const std::uint8_t> sent, std::span<const std::uint8_t> received) {
  if (received.size() < shortest_frame || crc16(received) != 0) return Flaw::garbled;
  return is_ours(sent, received) ? Flaw::malformed : Flaw::foreign;
}

}  // namespace standfast
