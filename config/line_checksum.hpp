// The checksums that stand behind a line of text, and CRC-16 as Modbus RTU has it. Pure.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

#include "config/rig.hpp"

namespace standfast {

// CRC-16 with the polynomial 8005 reflected, begun at FFFF (CRC-16/MODBUS).
std::uint16_t crc16(std::span<const std::uint8_t> bytes);

// The line without the hexadecimal digits that end it: two of xor8 (all bytes by exclusive or) and sum8 (their sum modulo
// 256), four of crc16, the highest first, in capitals or not. They are over all bytes before them. Nothing where they are
// missing or wrong.
std::optional<std::string_view> without_checksum(Checksum kind, std::string_view line);

}  // namespace standfast
