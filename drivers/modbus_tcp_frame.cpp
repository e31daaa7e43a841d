#include "drivers/modbus_tcp_frame.hpp"

#include <algorithm>

#include "config/ensure.hpp"

namespace standfast {

namespace {

using Bytes = std::span<const std::uint8_t>;

constexpr std::size_t length_field_end = 6, function_end = 8;  // Bytes needed to judge that far.

constexpr std::uint16_t word_at(Bytes bytes, std::size_t at) {
  return static_cast<std::uint16_t>((bytes[at] << 8) | bytes[at + 1]);
}

Flaw judge_numbers(Bytes sent, Bytes received) {
  if (word_at(received, 2) != 0) return Flaw::foreign;
  const auto behind = static_cast<std::uint16_t>(word_at(sent, 0) - word_at(received, 0));
  if (behind != 0) return behind < 0x8000 ? Flaw::late : Flaw::foreign;
  const std::size_t length = word_at(received, 4);
  const bool possible = length == 1 + right_answer_bytes(pdu_of_tcp(sent)) || length == 1 + exception_answer_bytes;
  return possible ? Flaw::none : Flaw::malformed;
}

Flaw judge_speaker(Bytes sent, Bytes received) {
  if (received[6] != sent[6]) return Flaw::foreign;
  return judge_function(pdu_of_tcp(sent), received[modbus_header_bytes], word_at(received, 4) - 1u);
}

}  // namespace

ModbusFrame tcp_frame(const ModbusRequest& request, std::uint16_t transaction) {
  const auto pdu = request.pdu();
  const std::size_t length = 1 + pdu.size();
  ModbusFrame frame;
  frame.bytes = {static_cast<std::uint8_t>(transaction >> 8), static_cast<std::uint8_t>(transaction), 0, 0,
                 static_cast<std::uint8_t>(length >> 8), static_cast<std::uint8_t>(length), request.unit_id()};
  std::ranges::copy(pdu, frame.bytes.begin() + modbus_header_bytes);
  frame.size = modbus_header_bytes + pdu.size();
  return frame;
}

std::optional<Flaw> judge_tcp_answer(std::span<const std::uint8_t> sent, std::span<const std::uint8_t> received) {
  ENSURE(sent.size() >= modbus_header_bytes + 5);
  if (received.size() < length_field_end) return std::nullopt;
  if (const Flaw flaw = judge_numbers(sent, received); flaw != Flaw::none) return flaw;
  const std::size_t size = length_field_end + word_at(received, 4);
  if (received.size() > size) return Flaw::malformed;
  if (received.size() < function_end) return std::nullopt;
  if (const Flaw flaw = judge_speaker(sent, received); flaw != Flaw::none) return flaw;
  if (received.size() < size) return std::nullopt;
  return judge_whole(pdu_of_tcp(sent), pdu_of_tcp(received));
}

}  // namespace standfast
