// Requests out of the bytes of a serial Modbus line, and answers into it. Written anew from "MODBUS over Serial Line"
// V1.02: a frame is unit, PDU and CRC (2.3.1), the CRC's low byte first (2.5.1.2), frames stand apart by three and a half
// characters of silence.
#pragma once

#include <cstdint>
#include <optional>
#include <span>

#include "config/instant.hpp"
#include "config/rig.hpp"
#include "tools/rig/modbus_answer.hpp"

namespace standfast::rig {

struct RtuRequest {
  std::uint8_t unit_id{0};
  Bytes pdu;
};

// The time of one character: start, eight data bits, parity if any, stop bits.
Duration character_time(const SerialSettings& serial);

// Of "MODBUS over Serial Line" 6.2.2: polynomial A001 (reflected), start FFFF.
std::uint16_t rtu_crc(std::span<const std::uint8_t> bytes);
// Unit, PDU and CRC.
Bytes rtu_frame(const RtuRequest& said);

class RtuStream {
 public:
  explicit RtuStream(Duration silence) : silence_{silence} {}
  void add(std::span<const std::uint8_t> bytes, Instant now);
  // The next request whose CRC is right. What a silence ends without a right CRC is thrown away, and so is what is longer
  // than a frame may be.
  std::optional<RtuRequest> next(Instant now);
  // When silence alone would end what is held.
  std::optional<Instant> due() const;

 private:
  std::optional<RtuRequest> take(std::size_t length);

  Duration silence_;
  Bytes held_;
  Instant last_{};
};

}  // namespace standfast::rig
