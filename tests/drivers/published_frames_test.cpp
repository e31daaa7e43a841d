// Frames printed in the specifications, byte for byte.
// APP = MODBUS Application Protocol Specification V1.1b3 (26 April 2012), by section.
// OPEN = Open Modbus/TCP Specification, example of a transaction.
// GUIDE = MODBUS Messaging on TCP/IP Implementation Guide V1.0b (24 October 2006).
#include <catch2/catch.hpp>

#include "drivers/modbus_tcp_frame.hpp"

using namespace standfast;

namespace {

using FrameBytes = std::vector<std::uint8_t>;

FrameBytes pdu_of(const ModbusRequest& request) { return {request.pdu().begin(), request.pdu().end()}; }
FrameBytes frame_of(const ModbusRequest& request, std::uint16_t transaction = 0) {
  const ModbusFrame frame = tcp_frame(request, transaction);
  return {frame.view().begin(), frame.view().end()};
}

// The published PDU with the seven bytes in front that answer `request`.
FrameBytes answer_to(const ModbusRequest& request, const FrameBytes& pdu) {
  FrameBytes frame{0, 0, 0, 0, 0, static_cast<std::uint8_t>(pdu.size() + 1), request.unit_id()};
  frame.insert(frame.end(), pdu.begin(), pdu.end());
  return frame;
}

std::optional<Flaw> judged(const ModbusRequest& request, const FrameBytes& answer) {
  return judge_tcp_answer(frame_of(request), answer);
}

Address at(Table table, int start) { return {1, table, start}; }

}  // namespace

TEST_CASE("three holding registers are asked for and read as in the specification (M-10, APP 6.3)") {
  const ModbusRequest request = read_request(at(Table::holding_register, 0x6B), 3);
  CHECK(pdu_of(request) == FrameBytes{0x03, 0x00, 0x6B, 0x00, 0x03});
  const FrameBytes answer = answer_to(request, {0x03, 0x06, 0x02, 0x2B, 0x00, 0x00, 0x00, 0x64});
  REQUIRE(judged(request, answer) == Flaw::none);
  CHECK(words_in(pdu_of_tcp(answer)) == Words{555, 0, 100});
}

TEST_CASE("one input register is asked for and read as in the specification (M-11, APP 6.4)") {
  const ModbusRequest request = read_request(at(Table::input_register, 8), 1);
  CHECK(pdu_of(request) == FrameBytes{0x04, 0x00, 0x08, 0x00, 0x01});
  const FrameBytes answer = answer_to(request, {0x04, 0x02, 0x00, 0x0A});
  REQUIRE(judged(request, answer) == Flaw::none);
  CHECK(words_in(pdu_of_tcp(answer)) == Words{10});
}

TEST_CASE("one register is written and echoed as in the specification (M-12, APP 6.6)") {
  const ModbusRequest request = write_register(at(Table::holding_register, 1), 3);
  CHECK(pdu_of(request) == FrameBytes{0x06, 0x00, 0x01, 0x00, 0x03});
  CHECK(judged(request, answer_to(request, {0x06, 0x00, 0x01, 0x00, 0x03})) == Flaw::none);
}

TEST_CASE("two registers are written as in the specification, whose bytes say address 1 (M-13, M-26, APP 6.12)") {
  const std::vector<std::uint16_t> words{0x000A, 0x0102};
  const ModbusRequest request = write_registers(at(Table::holding_register, 1), words);
  CHECK(pdu_of(request) == FrameBytes{0x10, 0x00, 0x01, 0x00, 0x02, 0x04, 0x00, 0x0A, 0x01, 0x02});
  CHECK(judged(request, answer_to(request, {0x10, 0x00, 0x01, 0x00, 0x02})) == Flaw::none);
}

TEST_CASE("nineteen coils are read as in the specification, the first in the lowest bit (M-14, APP 6.1)") {
  const ModbusRequest request = read_request(at(Table::coil, 0x13), 0x13);
  CHECK(pdu_of(request) == FrameBytes{0x01, 0x00, 0x13, 0x00, 0x13});
  const FrameBytes answer = answer_to(request, {0x01, 0x03, 0xCD, 0x6B, 0x05});
  REQUIRE(judged(request, answer) == Flaw::none);
  // APP 6.1: coils 27 to 20 are 1100 1101, coils 35 to 28 are 0110 1011, coils 38 to 36 are 101.
  CHECK(bits_in(pdu_of_tcp(answer), 19) == Bits{1, 0, 1, 1, 0, 0, 1, 1, 1, 1, 0, 1, 0, 1, 1, 0, 1, 0, 1});
}

TEST_CASE("twenty-two discrete inputs are read as in the specification (M-15, APP 6.2)") {
  const ModbusRequest request = read_request(at(Table::discrete_input, 0xC4), 0x16);
  CHECK(pdu_of(request) == FrameBytes{0x02, 0x00, 0xC4, 0x00, 0x16});
  const FrameBytes answer = answer_to(request, {0x02, 0x03, 0xAC, 0xDB, 0x35});
  REQUIRE(judged(request, answer) == Flaw::none);
  // APP 6.2: inputs 204 to 197 are 1010 1100, 212 to 205 are 1101 1011, 218 to 213 are 11 0101.
  CHECK(bits_in(pdu_of_tcp(answer), 22) == Bits{0, 0, 1, 1, 0, 1, 0, 1, 1, 1, 0, 1, 1, 0, 1, 1, 1, 0, 1, 0, 1, 1});
}

TEST_CASE("a coil is energised with FF00 and de-energised with 0000 (M-16, APP 6.5)") {
  const ModbusRequest request = write_coil(at(Table::coil, 0xAC), true);
  CHECK(pdu_of(request) == FrameBytes{0x05, 0x00, 0xAC, 0xFF, 0x00});
  CHECK(judged(request, answer_to(request, {0x05, 0x00, 0xAC, 0xFF, 0x00})) == Flaw::none);
  CHECK(judged(request, answer_to(request, {0x05, 0x00, 0xAC, 0x00, 0x00})) == Flaw::malformed);
  CHECK(pdu_of(write_coil(at(Table::coil, 0xAC), false)) == FrameBytes{0x05, 0x00, 0xAC, 0x00, 0x00});
}

TEST_CASE("ten coils are written as in the specification (APP 6.11)") {
  const Bits bits{1, 0, 1, 1, 0, 0, 1, 1, 1, 0};
  const ModbusRequest request = write_coils(at(Table::coil, 0x13), bits);
  CHECK(pdu_of(request) == FrameBytes{0x0F, 0x00, 0x13, 0x00, 0x0A, 0x02, 0xCD, 0x01});
  CHECK(judged(request, answer_to(request, {0x0F, 0x00, 0x13, 0x00, 0x0A})) == Flaw::none);
}

TEST_CASE("a register that is not there is a refusal (M-18, APP 7)", "[fault-8]") {
  const ModbusRequest request = read_request(at(Table::coil, 0x04A1), 1);
  CHECK(pdu_of(request) == FrameBytes{0x01, 0x04, 0xA1, 0x00, 0x01});
  CHECK(judged(request, answer_to(request, {0x81, 0x02})) == Flaw::exception_refused);
}

TEST_CASE("the length in front counts the unit and what follows (M-20, M-21, OPEN)") {
  const ModbusRequest request = read_request({9, Table::holding_register, 4}, 1);
  CHECK(frame_of(request) == FrameBytes{0x00, 0x00, 0x00, 0x00, 0x00, 0x06, 0x09, 0x03, 0x00, 0x04, 0x00, 0x01});
  const FrameBytes answer{0x00, 0x00, 0x00, 0x00, 0x00, 0x05, 0x09, 0x03, 0x02, 0x00, 0x05};
  REQUIRE(judged(request, answer) == Flaw::none);
  CHECK(words_in(pdu_of_tcp(answer)) == Words{5});
}

TEST_CASE("the transaction number stands first, high byte first (M-22, GUIDE)") {
  CHECK(frame_of(read_request({0xFF, Table::holding_register, 4}, 1), 0x1501) ==
        FrameBytes{0x15, 0x01, 0x00, 0x00, 0x00, 0x06, 0xFF, 0x03, 0x00, 0x04, 0x00, 0x01});
}

TEST_CASE("each exception has its flaw by our own table (M-23, APP 7)", "[fault-8]") {
  const ModbusRequest request = read_request(at(Table::holding_register, 0), 1);
  const auto flaw = [&](int code) {
    return judged(request, answer_to(request, {0x83, static_cast<std::uint8_t>(code)}));
  };
  for (const int code : {1, 2, 3}) CHECK(flaw(code) == Flaw::exception_refused);  // function, address, value
  for (const int code : {4, 8}) CHECK(flaw(code) == Flaw::exception_failed);      // device failure, memory parity
  for (const int code : {5, 6}) CHECK(flaw(code) == Flaw::exception_busy);        // acknowledge, busy
  for (const int code : {10, 11}) CHECK(flaw(code) == Flaw::exception_gateway);
  for (const int code : {0, 7, 9, 12, 99, 255}) CHECK(flaw(code) == Flaw::exception_failed);  // Not in the specification.
}

TEST_CASE("the largest requests of the specification fit (M-07, M-08, APP 4.1 and 6)") {
  CHECK(read_request(at(Table::coil, 0), 2000).pdu().size() == 5);
  CHECK(read_request(at(Table::input_register, 65411), 125).pdu().size() == 5);
  const std::vector<std::uint16_t> words(123);
  CHECK(write_registers(at(Table::holding_register, 0), words).pdu().size() == 252);
  const Bits bits(1968);
  const ModbusRequest largest = write_coils(at(Table::coil, 0), bits);
  CHECK(largest.pdu().size() == 252);
  CHECK(frame_of(largest).size() <= modbus_longest_frame);
}
