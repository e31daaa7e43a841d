#include "drivers/modbus_codec.hpp"

#include <algorithm>

#include "config/ensure.hpp"

namespace standfast {

namespace {

using Bytes = std::span<const std::uint8_t>;

enum Function : std::uint8_t {
  read_coils = 1, read_discrete_inputs = 2, read_holding_registers = 3, read_input_registers = 4,
  write_one_coil = 5, write_one_register = 6, write_many_coils = 15, write_many_registers = 16,
};
constexpr std::uint8_t exception_bit = 0x80;
constexpr std::size_t length_field_end = 6, function_end = 8;  // Bytes needed to judge that far.

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

std::uint8_t function_of(Bytes request) { return request[modbus_header_bytes]; }

// Data bytes of the right answer to a read.
std::size_t data_bytes(Bytes request) {
  const std::size_t count = word_at(request, 10);
  return reads_bits(function_of(request)) ? bytes_for_bits(count) : 2 * count;
}

// The length field of the right answer: unit, function, and either count byte and data or address and value.
std::size_t right_length(Bytes request) { return is_read(function_of(request)) ? 3 + data_bytes(request) : 6; }
constexpr std::size_t exception_length = 3;  // Unit, function, code.

Flaw flaw_of_exception(std::uint8_t code) {
  switch (code) {
    case 1: case 2: case 3: return Flaw::exception_refused;
    case 5: case 6: return Flaw::exception_busy;
    case 10: case 11: return Flaw::exception_gateway;
    default: return Flaw::exception_failed;
  }
}

Flaw judge_numbers(Bytes request, Bytes received) {
  if (word_at(received, 2) != 0) return Flaw::foreign;
  const auto behind = static_cast<std::uint16_t>(word_at(request, 0) - word_at(received, 0));
  if (behind != 0) return behind < 0x8000 ? Flaw::late : Flaw::foreign;
  const std::size_t length = word_at(received, 4);
  return length == right_length(request) || length == exception_length ? Flaw::none : Flaw::malformed;
}

Flaw judge_speaker(Bytes request, Bytes received) {
  if (received[6] != request[6]) return Flaw::foreign;
  const std::size_t length = word_at(received, 4);
  const std::uint8_t function = received[modbus_header_bytes], asked = function_of(request);
  if (function == asked) return length == right_length(request) ? Flaw::none : Flaw::malformed;
  if (function == (asked | exception_bit)) return length == exception_length ? Flaw::none : Flaw::malformed;
  return Flaw::foreign;
}

Flaw judge_body(Bytes request, Bytes answer) {
  const std::uint8_t asked = function_of(request);
  if (answer[modbus_header_bytes] != asked) return flaw_of_exception(answer[8]);
  if (is_read(asked)) return answer[8] == data_bytes(request) ? Flaw::none : Flaw::malformed;
  // A write is echoed: one value whole, many by address and quantity, which are the same four bytes of the request.
  return std::ranges::equal(answer.subspan(8), request.subspan(8, 4)) ? Flaw::none : Flaw::malformed;
}

}  // namespace

// Appends to a request; puts the length in when done.
class RequestWriter {
 public:
  RequestWriter(const Address& at, Function function) {
    ENSURE(at.unit_id >= 0 && at.unit_id <= 255 && at.start >= 0 && at.start <= 65535);
    request_.size_ = modbus_header_bytes - 1;
    byte(static_cast<std::size_t>(at.unit_id));
    byte(function);
    word(static_cast<std::size_t>(at.start));
  }
  RequestWriter& byte(std::size_t value) {
    ENSURE(request_.size_ < modbus_longest_frame);
    request_.bytes_[request_.size_++] = static_cast<std::uint8_t>(value);
    return *this;
  }
  RequestWriter& word(std::size_t value) { return byte(value >> 8).byte(value & 0xFF); }
  ModbusRequest done() {
    const std::size_t length = request_.size_ - length_field_end;
    request_.bytes_[4] = static_cast<std::uint8_t>(length >> 8);
    request_.bytes_[5] = static_cast<std::uint8_t>(length);
    return request_;
  }

 private:
  ModbusRequest request_;
};

void ModbusRequest::set_transaction(std::uint16_t number) {
  bytes_[0] = static_cast<std::uint8_t>(number >> 8);
  bytes_[1] = static_cast<std::uint8_t>(number);
}

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

std::optional<Flaw> judge_answer(std::span<const std::uint8_t> request, std::span<const std::uint8_t> received) {
  ENSURE(request.size() >= 12);
  if (received.size() < length_field_end) return std::nullopt;
  if (const Flaw flaw = judge_numbers(request, received); flaw != Flaw::none) return flaw;
  const std::size_t size = length_field_end + word_at(received, 4);
  if (received.size() > size) return Flaw::malformed;
  if (received.size() < function_end) return std::nullopt;
  if (const Flaw flaw = judge_speaker(request, received); flaw != Flaw::none) return flaw;
  if (received.size() < size) return std::nullopt;
  return judge_body(request, received);
}

Words words_in(std::span<const std::uint8_t> answer) {
  Words words((answer.size() - 9) / 2);
  for (std::size_t i = 0; i < words.size(); ++i) words[i] = word_at(answer, 9 + 2 * i);
  return words;
}

Bits bits_in(std::span<const std::uint8_t> answer, int count) {
  Bits bits(static_cast<std::size_t>(count));
  for (std::size_t i = 0; i < bits.size(); ++i) bits[i] = (answer[9 + i / 8] >> (i % 8)) & 1;
  return bits;
}

}  // namespace standfast
