#include "tools/rig/modbus_answer.hpp"

namespace standfast::rig {
namespace {

enum Exception : std::uint8_t { illegal_function = 1, illegal_address = 2, illegal_value = 3 };

Bytes refuse(std::uint8_t function, std::uint8_t code) { return {static_cast<std::uint8_t>(function | 0x80U), code}; }

int big_endian(std::span<const std::uint8_t> bytes, std::size_t at) { return bytes[at] << 8 | bytes[at + 1]; }

void append(Bytes& out, int word) {
  out.push_back(static_cast<std::uint8_t>(word >> 8));
  out.push_back(static_cast<std::uint8_t>(word));
}

Table table_of(std::uint8_t function) {
  switch (function) {
    case 1: case 5: case 15: return Table::coil;
    case 2: return Table::discrete_input;
    case 4: return Table::input_register;
    default: return Table::holding_register;
  }
}

bool is_bits(Table table) { return table == Table::coil || table == Table::discrete_input; }

// The first address's bit is the lowest of the first byte; the last byte is filled up with 0.
Bytes packed(const std::vector<std::uint16_t>& bits) {
  Bytes out((bits.size() + 7) / 8, 0);
  for (std::size_t n = 0; n < bits.size(); ++n) {
    if (bits[n] != 0) out[n / 8] = static_cast<std::uint8_t>(out[n / 8] | 1U << n % 8);
  }
  return out;
}

// Functions 1 to 4: function, start, quantity.
Bytes read(Unit& unit, std::span<const std::uint8_t> request) {
  const std::uint8_t function = request[0];
  const Table table = table_of(function);
  if (request.size() != 5) return refuse(function, illegal_value);
  const int start = big_endian(request, 1);
  const int count = big_endian(request, 3);
  if (count < 1 || count > (is_bits(table) ? 2000 : 125)) return refuse(function, illegal_value);
  if (start + count > 65536 || !unit.has(table, start, count)) return refuse(function, illegal_address);
  if (const auto trouble = unit.trouble()) return refuse(function, *trouble);
  const auto words = unit.read(table, start, count);
  Bytes data;
  if (is_bits(table)) data = packed(words);
  else for (const std::uint16_t word : words) append(data, word);
  Bytes out{function, static_cast<std::uint8_t>(data.size())};
  out.insert(out.end(), data.begin(), data.end());
  return out;
}

// Functions 5 and 6: function, address, value; the answer is the request.
Bytes write_one(Unit& unit, std::span<const std::uint8_t> request) {
  const std::uint8_t function = request[0];
  if (request.size() != 5) return refuse(function, illegal_value);
  const int address = big_endian(request, 1);
  const int value = big_endian(request, 3);
  if (function == 5 && value != 0x0000 && value != 0xff00) return refuse(function, illegal_value);
  if (!unit.has(table_of(function), address, 1)) return refuse(function, illegal_address);
  if (const auto trouble = unit.trouble()) return refuse(function, *trouble);
  const int word = function == 5 ? (value != 0 ? 1 : 0) : value;
  unit.write(table_of(function), address, {static_cast<std::uint16_t>(word)});
  return {request.begin(), request.end()};
}

// Functions 15 and 16: function, start, quantity, number of bytes, bytes; the answer is the first five bytes.
Bytes write_many(Unit& unit, std::span<const std::uint8_t> request) {
  const std::uint8_t function = request[0];
  if (request.size() < 6) return refuse(function, illegal_value);
  const int start = big_endian(request, 1);
  const int count = big_endian(request, 3);
  const auto bytes = static_cast<std::size_t>(request[5]);
  const int most = function == 15 ? 0x7b0 : 123;
  const std::size_t wanted = static_cast<std::size_t>(function == 15 ? (count + 7) / 8 : 2 * count);
  if (count < 1 || count > most || bytes != wanted || request.size() != 6 + bytes) return refuse(function, illegal_value);
  if (start + count > 65536 || !unit.has(table_of(function), start, count)) return refuse(function, illegal_address);
  if (const auto trouble = unit.trouble()) return refuse(function, *trouble);
  std::vector<std::uint16_t> words;
  for (std::size_t n = 0; n < static_cast<std::size_t>(count); ++n) {
    const int word = function == 15 ? request[6 + n / 8] >> n % 8 & 1 : big_endian(request, 6 + 2 * n);
    words.push_back(static_cast<std::uint16_t>(word));
  }
  unit.write(table_of(function), start, words);
  return {request.begin(), request.begin() + 5};
}

}  // namespace

Bytes answer(Unit& unit, std::span<const std::uint8_t> request) {
  if (request.empty()) return refuse(0, illegal_function);
  const std::uint8_t function = request[0];
  const bool known = (function >= 1 && function <= 6) || function == 15 || function == 16;
  if (!known) return refuse(function, illegal_function);
  if (function <= 4) return read(unit, request);
  if (function <= 6) return write_one(unit, request);
  return write_many(unit, request);
}

}  // namespace standfast::rig
