// Modbus TCP frames: requests to bytes, the bytes of an answer to a judgement. Pure: no socket, no clock, no memory, so that
// a property test or a fuzzer can drive it.
//
// Source: MODBUS Application Protocol Specification V1.1b3 (functions, sizes, exceptions) and MODBUS Messaging on TCP/IP
// Implementation Guide V1.0b (the 7 bytes in front: transaction, protocol 0, length, unit). Every number on the wire has its
// high byte first.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>

#include "config/rig.hpp"
#include "drivers/scan.hpp"

namespace standfast {

inline constexpr std::size_t modbus_header_bytes = 7;
inline constexpr std::size_t modbus_longest_frame = 260;
inline constexpr int modbus_most_registers_read = 125, modbus_most_bits_read = 2000;
inline constexpr int modbus_most_registers_written = 123, modbus_most_bits_written = 1968;

class ModbusRequest {
 public:
  std::span<const std::uint8_t> frame() const { return {bytes_.data(), size_}; }
  std::span<const std::uint8_t> pdu() const { return frame().subspan(modbus_header_bytes); }  // Function and data.
  void set_transaction(std::uint16_t number);

 private:
  friend class RequestWriter;
  std::array<std::uint8_t, modbus_longest_frame> bytes_{};
  std::size_t size_{0};
};

// Unit 0 to 255, addresses 0 to 65535, counts as above: anything else is a broken invariant, for the loader and the poll
// plan have checked it. The transaction number is 0 until it is set.
ModbusRequest read_request(const Address& from, int count);                                      // functions 1 to 4
ModbusRequest write_coil(const Address& at, bool on);                                            // function 5
ModbusRequest write_register(const Address& at, std::uint16_t value);                            // function 6
ModbusRequest write_coils(const Address& from, std::span<const std::uint8_t> bits);              // function 15
ModbusRequest write_registers(const Address& from, std::span<const std::uint16_t> words);        // function 16

// How the bytes received so far answer `request`. No value: it can still become right, wait for more. Flaw::none: exactly
// the answer, byte for byte where the specification leaves no choice; only the spare bits of a last byte of bits are free.
// Anything else is final. Exceptions go by our own table. A transaction number up to 32767 behind ours is `late`, any
// other is `foreign`.
std::optional<Flaw> judge_answer(std::span<const std::uint8_t> request, std::span<const std::uint8_t> received);

// What a right answer to a read holds; only after `judge_answer` said Flaw::none.
Words words_in(std::span<const std::uint8_t> answer);
Bits bits_in(std::span<const std::uint8_t> answer, int count);

// True where the instrument itself refused, in a whole and well-formed frame: the connection is as sound as before.
constexpr bool is_exception(Flaw flaw) {
  return flaw == Flaw::exception_refused || flaw == Flaw::exception_failed || flaw == Flaw::exception_busy ||
         flaw == Flaw::exception_gateway;
}

}  // namespace standfast
