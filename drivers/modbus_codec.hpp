// Modbus requests to bytes, the bytes of an answer to a judgement: function and data, whatever wire carries them. Pure: no
// socket, no clock, no memory, so that a property test or a fuzzer can drive it.
//
// Source: MODBUS Application Protocol Specification V1.1b3 (functions, sizes, exceptions). Every number in it has its high
// byte first. The bytes around it stand in modbus_tcp_frame.hpp and modbus_rtu_frame.hpp.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>

#include "config/rig.hpp"
#include "drivers/scan.hpp"

namespace standfast {

inline constexpr std::size_t modbus_longest_pdu = 253, modbus_longest_frame = 260;
inline constexpr int modbus_most_registers_read = 125, modbus_most_bits_read = 2000;
inline constexpr int modbus_most_registers_written = 123, modbus_most_bits_written = 1968;

class ModbusRequest {
 public:
  std::uint8_t unit_id() const { return unit_id_; }
  std::span<const std::uint8_t> pdu() const { return {bytes_.data(), size_}; }  // Function and data.

 private:
  friend class RequestWriter;
  std::array<std::uint8_t, modbus_longest_pdu> bytes_{};
  std::size_t size_{0};
  std::uint8_t unit_id_{0};
};

// What goes over a wire, with what its kind of wire puts around it.
struct ModbusFrame {
  std::array<std::uint8_t, modbus_longest_frame> bytes{};
  std::size_t size{0};
  std::span<const std::uint8_t> view() const { return {bytes.data(), size}; }
};

// Unit 0 to 255, addresses 0 to 65535, counts as above: anything else is a broken invariant, for the loader and the poll
// plan have checked it.
ModbusRequest read_request(const Address& from, int count);                                      // functions 1 to 4
ModbusRequest write_coil(const Address& at, bool on);                                            // function 5
ModbusRequest write_register(const Address& at, std::uint16_t value);                            // function 6
ModbusRequest echo_request(int unit_id, std::uint16_t what);                                     // function 8, sub-function 0
ModbusRequest write_coils(const Address& from, std::span<const std::uint8_t> bits);              // function 15
ModbusRequest write_registers(const Address& from, std::span<const std::uint16_t> words);        // function 16

// Which table a request reads; none where it reads none. Of the bytes of a request.
std::optional<Table> table_read_by(std::span<const std::uint8_t> asked);

// How long the right answer is, function and data, and how long any exception.
std::size_t right_answer_bytes(std::span<const std::uint8_t> asked);
inline constexpr std::size_t exception_answer_bytes = 2;

// Is an answer with this function and length an answer to what was asked at all? Of function and data of the request.
Flaw judge_function(std::span<const std::uint8_t> asked, std::uint8_t function, std::size_t bytes);

// The question of another shape: as many more or fewer, so that the answer has another length. Of a request to read or to
// write coils or registers.
[[nodiscard]] ModbusRequest another_shape(const ModbusRequest& request);

// A whole answer, two bytes at least. Flaw::none: exactly the answer, byte for byte where the specification leaves no
// choice; only the spare bits of a last byte of bits are free. Exceptions go by our own table.
Flaw judge_whole(std::span<const std::uint8_t> asked, std::span<const std::uint8_t> answer);

// What a right answer to a read holds, of its function and data; only after it was judged right.
Words words_in(std::span<const std::uint8_t> answer);
Bits bits_in(std::span<const std::uint8_t> answer, int count);
bool bit_in(std::span<const std::uint8_t> answer, std::size_t place);

// True where the instrument itself refused, in a whole and well-formed frame: the connection is as sound as before.
constexpr bool is_exception(Flaw flaw) {
  return flaw == Flaw::exception_refused || flaw == Flaw::exception_failed || flaw == Flaw::exception_busy ||
         flaw == Flaw::exception_gateway;
}

// True where the unit itself did not answer: a flaw, or an exception of the gateway before it.
constexpr bool is_no_answer_of_the_unit(Flaw flaw) {
  return flaw == Flaw::exception_gateway || (flaw != Flaw::none && !is_exception(flaw));
}

}  // namespace standfast
