#include "drivers/modbus_codec.hpp"

#include <algorithm>

#include "config/ensure.hpp"

namespace standfast {

namespace {

using Bytes = std::span<const std::uint8_t>;

enum Function : std::uint8_t {
  read_coils = 1, read_discrete_inputs = 2, read_holding_registers = 3, read_input_registers = 4,
  write_one_coil = 5, write_one_register = 6, diagnostics = 8, write_many_coils = 15, write_many_registers = 16,
};
constexpr int return_query_data = 0;  // Sub-function of diagnostics.
constexpr std::uint8_t exception_bit = 0x80;

constexpr std::uint16_t word_at(Bytes bytes, std::size_t at) {
  return static_cast<std::uint16_t>((bytes[at] << 8) | bytes[at + 1]);
}
constexpr std::size_t bytes_for_bits(std::size_t count) { return (count + 7) / 8; }

Function read_function(Table table) {
  switch (table) {
    case Table::coil: return read_coils;
    case Table::discrete_input: return read_discrete_inputs;
    case Table::holding_register: return read_holding_registers;
    case Table::input_register: return read_input_registers;
  }
  ENSURE(false);
}

bool reads_bits(std::uint8_t function) { return function == read_coils || function == read_discrete_inputs; }
bool is_read(std::uint8_t function) { return function >= read_coils && function <= read_input_registers; }

// Data bytes of the right answer to a read.
std::size_t data_bytes(Bytes asked) {
  const std::size_t count = word_at(asked, 3);
  return reads_bits(asked[0]) ? bytes_for_bits(count) : 2 * count;
}

Flaw flaw_of_exception(std::uint8_t code) {
  switch (code) {
    case 1: case 2: case 3: return Flaw::exception_refused;
    case 5: case 6: return Flaw::exception_busy;
    case 10: case 11: return Flaw::exception_gateway;
    default: return Flaw::exception_failed;
  }
}

}  // namespace

// Appends to a request; puts the length in when done.
class RequestWriter {
 public:
  RequestWriter(const Address& at, Function function) {
    ENSURE(at.unit_id >= 0 && at.unit_id <= 255 && at.start >= 0 && at.start <= 65535);
    request_.unit_id_ = static_cast<std::uint8_t>(at.unit_id);
    byte(function);
    word(static_cast<std::size_t>(at.start));
  }
  RequestWriter& byte(std::size_t value) {
    ENSURE(request_.size_ < modbus_longest_pdu);
    request_.bytes_[request_.size_++] = static_cast<std::uint8_t>(value);
    return *this;
  }
  RequestWriter& word(std::size_t value) { return byte(value >> 8).byte(value & 0xFF); }
  ModbusRequest done() const { return request_; }

 private:
  ModbusRequest request_;
};

ModbusRequest read_request(const Address& from, int count) {
  const Function function = read_function(from.table);
  const int most = reads_bits(function) ? modbus_most_bits_read : modbus_most_registers_read;
  ENSURE(count >= 1 && count <= most && from.start + count <= 65536);
  return RequestWriter{from, function}.word(static_cast<std::size_t>(count)).done();
}

ModbusRequest write_coil(const Address& at, bool on) {
  ENSURE(at.table == Table::coil);
  return RequestWriter{at, write_one_coil}.word(on ? 0xFF00 : 0x0000).done();
}

ModbusRequest write_register(const Address& at, std::uint16_t value) {
  ENSURE(at.table == Table::holding_register);
  return RequestWriter{at, write_one_register}.word(value).done();
}

ModbusRequest write_coils(const Address& from, std::span<const std::uint8_t> bits) {
  ENSURE(from.table == Table::coil && !bits.empty() && bits.size() <= modbus_most_bits_written);
  ENSURE(static_cast<std::size_t>(from.start) + bits.size() <= 65536);
  RequestWriter request{from, write_many_coils};
  request.word(bits.size()).byte(bytes_for_bits(bits.size()));
  for (std::size_t first = 0; first < bits.size(); first += 8) {
    std::size_t packed = 0;  // The first coil is the lowest bit.
    for (std::size_t i = first; i < std::min(first + 8, bits.size()); ++i)
      packed |= std::size_t{bits[i] != 0} << (i - first);
    request.byte(packed);
  }
  return request.done();
}

ModbusRequest write_registers(const Address& from, std::span<const std::uint16_t> words) {
  ENSURE(from.table == Table::holding_register && !words.empty() && words.size() <= modbus_most_registers_written);
  ENSURE(static_cast<std::size_t>(from.start) + words.size() <= 65536);
  RequestWriter request{from, write_many_registers};
  request.word(words.size()).byte(2 * words.size());
  for (const std::uint16_t word : words) request.word(word);
  return request.done();
}

ModbusRequest echo_request(int unit_id, std::uint16_t what) {
  return RequestWriter{{unit_id, Table::coil, return_query_data}, diagnostics}.word(what).done();
}

std::optional<Table> table_read_by(std::span<const std::uint8_t> asked) {
  switch (asked[0]) {
    case read_coils: return Table::coil;
    case read_discrete_inputs: return Table::discrete_input;
    case read_holding_registers: return Table::holding_register;
    case read_input_registers: return Table::input_register;
    default: return std::nullopt;
  }
}

std::size_t right_answer_bytes(std::span<const std::uint8_t> asked) {
  return is_read(asked[0]) ? 2 + data_bytes(asked) : 5;
}

Flaw judge_function(std::span<const std::uint8_t> asked, std::uint8_t function, std::size_t bytes) {
  if (function == asked[0]) return bytes == right_answer_bytes(asked) ? Flaw::none : Flaw::malformed;
  if (function == (asked[0] | exception_bit)) return bytes == exception_answer_bytes ? Flaw::none : Flaw::malformed;
  return Flaw::foreign;
}

Flaw judge_whole(std::span<const std::uint8_t> asked, std::span<const std::uint8_t> answer) {
  if (const Flaw flaw = judge_function(asked, answer[0], answer.size()); flaw != Flaw::none) return flaw;
  if (answer[0] != asked[0]) return flaw_of_exception(answer[1]);
  if (is_read(asked[0])) return answer[1] == data_bytes(asked) ? Flaw::none : Flaw::malformed;
  // A write is echoed: one value whole, many by address and quantity, which are the same four bytes of the request.
  return std::ranges::equal(answer.subspan(1), asked.subspan(1, 4)) ? Flaw::none : Flaw::malformed;
}

Words words_in(std::span<const std::uint8_t> answer) {
  Words words((answer.size() - 2) / 2);
  for (std::size_t i = 0; i < words.size(); ++i) words[i] = word_at(answer, 2 + 2 * i);
  return words;
}

Bits bits_in(std::span<const std::uint8_t> answer, int count) {
  Bits bits(static_cast<std::size_t>(count));
  for (std::size_t i = 0; i < bits.size(); ++i) bits[i] = bit_in(answer, i);
  return bits;
}

bool bit_in(std::span<const std::uint8_t> answer, std::size_t place) { return ((answer[2 + place / 8] >> (place % 8)) & 1) != 0; }

ModbusRequest another_shape(const ModbusRequest& request) {
  const auto pdu = request.pdu();
  const auto word = [&](std::size_t at) { return pdu[at] << 8 | pdu[at + 1]; };
  const std::optional<Table> read = table_read_by(pdu);
  const bool single_write = pdu[0] == 5 || pdu[0] == 6, registers_written = pdu[0] == 6 || pdu[0] == 16;
  const Table table = read.value_or(registers_written ? Table::holding_register : Table::coil);
  const bool bits = table == Table::coil || table == Table::discrete_input;
  const int start = word(1), count = single_write ? 1 : word(3), step = bits ? 8 : 1;
  const int most = bits ? modbus_most_bits_read : modbus_most_registers_read;
  if (count + step <= most && start + count + step <= 65536) return read_request({request.unit_id(), table, start}, count + step);
  if (count > step) return read_request({request.unit_id(), table, start}, count - step);
  return read_request({request.unit_id(), table, start - step}, count + step);
}

}  // namespace standfast
