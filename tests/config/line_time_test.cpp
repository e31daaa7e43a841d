// What a request costs on its line. SER = MODBUS over Serial Line Specification and Implementation Guide V1.02; APP = MODBUS
// Application Protocol Specification V1.1b3.
#include "config/line_time.hpp"

#include <catch2/catch.hpp>

using namespace standfast;

namespace {

SerialSettings line_at(int baud, Parity parity = Parity::even, int stop_bits = 1) {
  SerialSettings serial;
  serial.baud = baud;
  serial.parity = parity;
  serial.stop_bits = stop_bits;
  return serial;
}

double milliseconds_of(Duration duration) { return duration.seconds() * 1000; }

Block registers(int count) {
  Block block;
  block.table = Table::input_register;
  block.count = count;
  return block;
}

}  // namespace

// Worked by hand from SER 2.5.1: (8 + 5 + 2 N) characters of 11 bits, and twice 3.5 characters of silence (1.75 ms above
// 19200 baud); the last column with 5 ms of the instrument's own.
TEST_CASE("a read of registers takes as long on its line as the arithmetic of the specification says") {
  struct Row {
    int baud, count;
    double wire, silences, cycle, a_second, with_turnaround;
  };
  constexpr Row rows[] = {
      {9600, 2, 19.48, 8.02, 27.50, 36.4, 30.8},    {9600, 32, 88.23, 8.02, 96.25, 10.4, 9.9},
      {9600, 125, 301.35, 8.02, 309.37, 3.2, 3.2},  {19200, 2, 9.74, 4.01, 13.75, 72.7, 53.3},
      {19200, 32, 44.11, 4.01, 48.12, 20.8, 18.8},  {19200, 125, 150.68, 4.01, 154.69, 6.5, 6.3},
      {115200, 2, 1.62, 3.50, 5.12, 195, 98.8},     {115200, 32, 7.35, 3.50, 10.85, 92.2, 63.1},
      {115200, 125, 25.11, 3.50, 28.61, 35.0, 29.8}};
  for (const Row& row : rows) {
    INFO(row.baud << " baud, " << row.count << " registers");
    const SerialSettings serial = line_at(row.baud);
    const std::size_t characters = rtu_read_characters(Table::input_register, row.count);
    const Bus bus{"line", ModbusRtu{serial, {}}, {}, {}, {}};
    CHECK(milliseconds_of(line_time(serial, characters)) == Approx(row.wire).margin(0.006));
    CHECK(milliseconds_of(silence_between_frames(serial) * 2) == Approx(row.silences).margin(0.006));
    CHECK(milliseconds_of(rtu_cycle(serial, characters)) == Approx(row.cycle).margin(0.011));
    CHECK(1 / rtu_cycle(serial, characters).seconds() == Approx(row.a_second).epsilon(0.015));
    CHECK(1 / request_time(bus, registers(row.count)).seconds() == Approx(row.with_turnaround).epsilon(0.015));
  }
}

TEST_CASE("a character has a start bit, eight of data, a parity bit where there is one, and its stop bits (SER 2.5.1)") {
  CHECK(bits_of_character(line_at(9600)) == 11);
  CHECK(bits_of_character(line_at(9600, Parity::none, 2)) == 11);
  CHECK(bits_of_character(line_at(9600, Parity::none)) == 10);
  CHECK(line_time(line_at(9600, Parity::none), 96) == milliseconds(100));
}

// Frames by APP 6.1, 6.3, 6.5 and 6.11 with unit and checksum: 8 ask; answers are 5 and the data, writes 8 in return.
TEST_CASE("bits and writes have lengths of their own") {
  CHECK(rtu_read_characters(Table::holding_register, 1) == 8 + 7);
  CHECK(rtu_read_characters(Table::coil, 8) == 8 + 6);
  CHECK(rtu_read_characters(Table::discrete_input, 9) == 8 + 7);
  CHECK(rtu_write_coils_characters(1) == 16);
  CHECK(rtu_write_coils_characters(8) == 10 + 8);
  CHECK(rtu_write_coils_characters(9) == 11 + 8);
}

TEST_CASE("a line of text costs its question, its answer with ten characters for each number, checksum and line end") {
  SerialLines lines;
  lines.ask = "?\r";
  lines.answer = "D{value} mm";
  CHECK(text_line_characters(lines) == 2 + 1 + 10 + 3 + 2);
  lines.checksum = Checksum::xor8;
  lines.answer = "{value};{value}";
  CHECK(text_line_characters(lines) == 2 + 10 + 1 + 10 + 2 + 2);
  lines.checksum = Checksum::crc16;
  lines.serial = line_at(9600, Parity::none);
  const Bus asked{"dial", lines, {}, {}, {}};
  CHECK(request_time(asked, {}) == line_time(lines.serial, 29) + device_turnaround);
  lines.ask.clear();
  CHECK(request_time({"dial", lines, {}, {}, {}}, {}) == line_time(lines.serial, 27));
}

TEST_CASE("on TCP only the instrument's own time is allowed for") {
  CHECK(request_time({"manifold", ModbusTcp{}, {}, {}, {}}, registers(125)) == device_turnaround);
}
