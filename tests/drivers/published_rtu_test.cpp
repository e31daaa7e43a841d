// Frames of a serial line, byte for byte.
// SER = MODBUS over Serial Line Specification and Implementation Guide V1.02 (20 December 2006), by section.
// APP = MODBUS Application Protocol Specification V1.1b3 (26 April 2012), by section: it prints function and data; unit 1 stands in
// front here, and the checksum behind was worked out apart from this code.
// CATALOGUE = the entry CRC-16/MODBUS of the public catalogue of parametrised CRC algorithms, from memory.
#include <catch2/catch.hpp>

#include "drivers/modbus_rtu_frame.hpp"

using namespace standfast;

namespace {

using FrameBytes = std::vector<std::uint8_t>;

FrameBytes frame_of(const ModbusRequest& request) {
  const ModbusFrame frame = rtu_frame(request);
  return {frame.view().begin(), frame.view().end()};
}

Address at(Table table, int start) { return {1, table, start}; }

FrameBytes taken(const ModbusRequest& request, const FrameBytes& answer) {
  REQUIRE(judge_rtu_answer(frame_of(request), answer) == Flaw::none);
  const auto pdu = pdu_of_rtu(answer);
  return {pdu.begin(), pdu.end()};
}

SerialSettings line_at(int baud) {
  SerialSettings serial;
  serial.baud = baud;
  return serial;
}

}  // namespace

TEST_CASE("the checksum of the frame 02 07 is 1241 and goes out as 41 12 (M-01, SER 6.2.2)") {
  const FrameBytes frame{0x02, 0x07};
  CHECK(crc16(frame) == 0x1241);
  CHECK(crc16(FrameBytes{0x02, 0x07, 0x41, 0x12}) == 0);
  CHECK(crc16(FrameBytes{0x02, 0x07, 0x12, 0x41}) != 0);
}

TEST_CASE("the checksum of the check string is 4B37, and of nothing FFFF (M-02, M-03, CATALOGUE)") {
  const std::string check = "123456789";
  CHECK(crc16(FrameBytes{check.begin(), check.end()}) == 0x4B37);
  CHECK(crc16(FrameBytes{}) == 0xFFFF);
}

TEST_CASE("registers are read over a serial line as printed (M-10, M-11, APP 6.3 and 6.4)") {
  const ModbusRequest holding = read_request(at(Table::holding_register, 0x6B), 3);
  CHECK(frame_of(holding) == FrameBytes{0x01, 0x03, 0x00, 0x6B, 0x00, 0x03, 0x74, 0x17});
  const FrameBytes answer{0x01, 0x03, 0x06, 0x02, 0x2B, 0x00, 0x00, 0x00, 0x64, 0x05, 0x7A};
  CHECK(words_in(taken(holding, answer)) == Words{555, 0, 100});
  const ModbusRequest input = read_request(at(Table::input_register, 8), 1);
  CHECK(frame_of(input) == FrameBytes{0x01, 0x04, 0x00, 0x08, 0x00, 0x01, 0xB0, 0x08});
  CHECK(words_in(taken(input, {0x01, 0x04, 0x02, 0x00, 0x0A, 0x39, 0x37})) == Words{10});
}

TEST_CASE("bits are read over a serial line as printed (M-14, M-15, APP 6.1 and 6.2)") {
  const ModbusRequest coils = read_request(at(Table::coil, 0x13), 19);
  CHECK(frame_of(coils) == FrameBytes{0x01, 0x01, 0x00, 0x13, 0x00, 0x13, 0x8C, 0x02});
  const FrameBytes pdu = taken(coils, {0x01, 0x01, 0x03, 0xCD, 0x6B, 0x05, 0x42, 0x82});
  CHECK(bits_in(pdu, 19) == Bits{1, 0, 1, 1, 0, 0, 1, 1, 1, 1, 0, 1, 0, 1, 1, 0, 1, 0, 1});
  const ModbusRequest inputs = read_request(at(Table::discrete_input, 0xC4), 22);
  CHECK(frame_of(inputs) == FrameBytes{0x01, 0x02, 0x00, 0xC4, 0x00, 0x16, 0xB8, 0x39});
  taken(inputs, {0x01, 0x02, 0x03, 0xAC, 0xDB, 0x35, 0x22, 0x88});
}

TEST_CASE("writes go over a serial line as printed (M-12, M-13, M-16, APP 6.5, 6.6 and 6.12)") {
  const ModbusRequest one = write_register(at(Table::holding_register, 1), 3);
  const FrameBytes one_frame{0x01, 0x06, 0x00, 0x01, 0x00, 0x03, 0x98, 0x0B};
  CHECK(frame_of(one) == one_frame);
  taken(one, one_frame);
  const Words words{0x000A, 0x0102};
  const ModbusRequest many = write_registers(at(Table::holding_register, 1), words);
  CHECK(frame_of(many) == FrameBytes{0x01, 0x10, 0x00, 0x01, 0x00, 0x02, 0x04, 0x00, 0x0A, 0x01, 0x02, 0x92, 0x30});
  taken(many, {0x01, 0x10, 0x00, 0x01, 0x00, 0x02, 0x10, 0x08});
  const ModbusRequest coil = write_coil(at(Table::coil, 0xAC), true);
  const FrameBytes coil_frame{0x01, 0x05, 0x00, 0xAC, 0xFF, 0x00, 0x4C, 0x1B};
  CHECK(frame_of(coil) == coil_frame);
  taken(coil, coil_frame);
}

TEST_CASE("query data come back as printed, and no other number does (M-17, APP 6.8)") {
  const ModbusRequest echo = echo_request(1, 0xA537);
  const FrameBytes frame{0x01, 0x08, 0x00, 0x00, 0xA5, 0x37, 0xDA, 0x8D};
  CHECK(frame_of(echo) == frame);
  taken(echo, frame);
  CHECK(judge_rtu_answer(frame_of(echo), frame_of(echo_request(1, 0xA536))) == Flaw::malformed);
}

TEST_CASE("a refusal on a serial line is known as printed (M-18, APP 7)", "[fault-8]") {
  const ModbusRequest request = read_request(at(Table::coil, 0x04A1), 1);
  CHECK(judge_rtu_answer(frame_of(request), FrameBytes{0x01, 0x81, 0x02, 0xC1, 0x91}) == Flaw::exception_refused);
}

TEST_CASE("the silence between frames is 3.5 characters up to 19200 baud and 1.75 ms above (M-05, M-06, SER 2.5.1.1)") {
  CHECK(silence_between_frames(line_at(9600)).ns == 4'010'416);
  CHECK(silence_between_frames(line_at(19200)).ns == 2'005'208);
  CHECK(silence_between_frames(line_at(38400)) == microseconds(1750));
  CHECK(silence_between_frames(line_at(115200)) == microseconds(1750));
}
