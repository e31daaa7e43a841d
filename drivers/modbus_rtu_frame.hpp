// What Modbus RTU puts around a request: the unit in front, a checksum behind. Pure.
//
// Source: MODBUS over Serial Line Specification and Implementation Guide V1.02, 2.5.1 (frames, silence) and 6.2.2 (checksum).
#pragma once

#include "config/line_checksum.hpp"
#include "config/line_time.hpp"
#include "drivers/modbus_codec.hpp"

namespace standfast {

// The checksum goes over the wire with its low byte first.
ModbusFrame rtu_frame(const ModbusRequest& request);

// As judge_tcp_answer. RTU numbers nothing: an answer that comes late cannot be told from one that does not. An answer
// whose checksum is wrong is `garbled`.
std::optional<Flaw> judge_rtu_answer(std::span<const std::uint8_t> sent, std::span<const std::uint8_t> received);

// What came is not the answer, and nothing more comes: a frame of somebody else, one of ours cut short, or noise.
Flaw judge_rtu_rest(std::span<const std::uint8_t> sent, std::span<const std::uint8_t> received);

// Function and data of a right answer, or of a request.
inline std::span<const std::uint8_t> pdu_of_rtu(std::span<const std::uint8_t> frame) { return frame.subspan(1, frame.size() - 3); }

}  // namespace standfast
