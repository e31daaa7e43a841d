// How long what is said takes on its wire. Pure arithmetic, for the plan's check and for who has to wait.
//
// Source: MODBUS over Serial Line Specification and Implementation Guide V1.02, 2.5.1 (characters, silence).
#pragma once

#include <cstddef>

#include "config/poll_plan.hpp"

namespace standfast {

// Between the last character of a question and the first of its answer. Common practice, no source: data sheets state 1 to
// 20 ms.
inline constexpr Duration device_turnaround = milliseconds(5);

// Bits that one character takes on the line: start, eight, parity, stop.
constexpr int bits_of_character(const SerialSettings& serial) {
  return 9 + (serial.parity == Parity::none ? 0 : 1) + serial.stop_bits;
}

constexpr Duration line_time(const SerialSettings& serial, std::size_t characters) {
  const auto bits = static_cast<std::int64_t>(characters) * bits_of_character(serial);
  return nanoseconds(bits * 1'000'000'000 / serial.baud);
}

// The silence that ends a frame (2.5.1.1): 3.5 characters of 11 bits, above 19200 baud a fixed 1.75 ms.
constexpr Duration silence_between_frames(const SerialSettings& serial) {
  return serial.baud <= 19200 ? nanoseconds(38'500'000'000 / serial.baud) : microseconds(1750);
}

// Characters of question and answer together, unit and checksum included: a read of registers is 8 + 5 + 2 N, of bits
// 8 + 5 + N / 8; a write of coils is 9 + N / 8 + 8, of a single one 8 + 8 (Application Protocol V1.1b3, 6.1 to 6.5, 6.11).
std::size_t rtu_read_characters(Table table, int count);
std::size_t rtu_write_coils_characters(int count);

// A question, its answer and the silence behind each; without the instrument's own time.
constexpr Duration rtu_cycle(const SerialSettings& serial, std::size_t characters) {
  return line_time(serial, characters) + silence_between_frames(serial) * 2;
}

// A line of text there and back: as stated in the rig, with ten characters for each number, a line end and the checksum.
std::size_t text_line_characters(const SerialLines& lines);

// How long one request keeps its wire busy, the instrument's own time included. On TCP the wire itself is not counted:
// what remains is the instrument, and it alone is allowed for.
Duration request_time(const Bus& bus, const Block& block);

}  // namespace standfast
