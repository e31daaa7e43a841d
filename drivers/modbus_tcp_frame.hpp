// The seven bytes that Modbus TCP puts in front: transaction, protocol 0, length, unit. Pure.
//
// Source: MODBUS Messaging on TCP/IP Implementation Guide V1.0b.
#pragma once

#include "drivers/modbus_codec.hpp"

namespace standfast {

inline constexpr std::size_t modbus_header_bytes = 7;

ModbusFrame tcp_frame(const ModbusRequest& request, std::uint16_t transaction);

// How the bytes received so far answer the frame that was sent. No value: it can still become right, wait for more.
// Flaw::none: exactly the answer. Anything else is final. A transaction number up to 32767 behind ours is `late`, any other
// is `foreign`.
std::optional<Flaw> judge_tcp_answer(std::span<const std::uint8_t> sent, std::span<const std::uint8_t> received);

// Function and data of a right answer.
inline std::span<const std::uint8_t> pdu_of_tcp(std::span<const std::uint8_t> frame) { return frame.subspan(modbus_header_bytes); }

}  // namespace standfast
