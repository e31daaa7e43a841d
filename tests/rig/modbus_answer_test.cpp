// The rig's own Modbus server against the examples and rules of the specification: MODBUS Application Protocol V1.1b3,
// chapter 6 (examples of each function) and 7 (exceptions); MODBUS Messaging on TCP/IP V1.0b, 3.1.3 (header).
#include <catch2/catch.hpp>

#include "tools/rig/modbus_answer.hpp"
#include "tools/rig/modbus_stream.hpp"
#include "tools/rig/unit_tables.hpp"

using namespace standfast;
using namespace standfast::rig;

namespace {

// The unit of the specification's examples.
UnitTables example_unit() {
  UnitTables unit;
  unit.own(Table::holding_register).cover(0, 200);
  unit.own(Table::holding_register).set(107, 0x022b);
  unit.own(Table::holding_register).set(109, 0x0064);
  unit.own(Table::input_register).cover(0, 100);
  unit.own(Table::input_register).set(8, 10);
  unit.own(Table::coil).cover(0, 200);
  unit.own(Table::discrete_input).cover(0, 300);
  const auto spread = [](Registers& table, int start, int count, std::initializer_list<int> bytes) {
    int n = 0;
    for (const int byte : bytes) {
      for (int bit = 0; bit < 8 && n < count; ++bit, ++n) table.set(start + n, static_cast<std::uint16_t>(byte >> bit & 1));
    }
  };
  spread(unit.own(Table::coil), 0x13, 0x13, {0xcd, 0x6b, 0x05});
  spread(unit.own(Table::discrete_input), 0xc4, 0x16, {0xac, 0xdb, 0x35});
  return unit;
}

Bytes ask(UnitTables& unit, Bytes request) { return answer(unit, request); }

}  // namespace

TEST_CASE("the examples of the specification are answered as printed there") {
  UnitTables unit = example_unit();
  CHECK(ask(unit, {0x01, 0x00, 0x13, 0x00, 0x13}) == Bytes{0x01, 0x03, 0xcd, 0x6b, 0x05});              // 6.1
  CHECK(ask(unit, {0x02, 0x00, 0xc4, 0x00, 0x16}) == Bytes{0x02, 0x03, 0xac, 0xdb, 0x35});              // 6.2
  CHECK(ask(unit, {0x03, 0x00, 0x6b, 0x00, 0x03}) == Bytes{0x03, 0x06, 0x02, 0x2b, 0x00, 0x00, 0x00, 0x64});  // 6.3
  CHECK(ask(unit, {0x04, 0x00, 0x08, 0x00, 0x01}) == Bytes{0x04, 0x02, 0x00, 0x0a});                    // 6.4
  CHECK(ask(unit, {0x05, 0x00, 0xac, 0xff, 0x00}) == Bytes{0x05, 0x00, 0xac, 0xff, 0x00});              // 6.5
  CHECK(unit.read(Table::coil, 0xac, 1).front() == 1);
  CHECK(ask(unit, {0x06, 0x00, 0x01, 0x00, 0x03}) == Bytes{0x06, 0x00, 0x01, 0x00, 0x03});              // 6.6
  CHECK(unit.read(Table::holding_register, 1, 1).front() == 3);
  CHECK(ask(unit, {0x0f, 0x00, 0x13, 0x00, 0x0a, 0x02, 0xcd, 0x01}) == Bytes{0x0f, 0x00, 0x13, 0x00, 0x0a});  // 6.11
  CHECK(unit.read(Table::coil, 0x13, 10) == std::vector<std::uint16_t>{1, 0, 1, 1, 0, 0, 1, 1, 1, 0});
  CHECK(ask(unit, {0x10, 0x00, 0x01, 0x00, 0x02, 0x04, 0x00, 0x0a, 0x01, 0x02}) ==
        Bytes{0x10, 0x00, 0x01, 0x00, 0x02});                                                           // 6.12
  CHECK(unit.read(Table::holding_register, 1, 2) == std::vector<std::uint16_t>{0x000a, 0x0102});
}

TEST_CASE("an address that is not there is exception 2") {
  UnitTables unit = example_unit();
  CHECK(ask(unit, {0x01, 0x04, 0xa1, 0x00, 0x01}) == Bytes{0x81, 0x02});  // 7: 0x04A1 of that example
}

TEST_CASE("a stretch that begins within and ends beyond is exception 2") {
  // 7: with 100 registers, start 96 with 4 succeeds and start 96 with 5 fails.
  UnitTables unit = example_unit();
  CHECK(ask(unit, {0x04, 0x00, 96, 0x00, 4}).front() == 0x04);
  CHECK(ask(unit, {0x04, 0x00, 96, 0x00, 5}) == Bytes{0x84, 0x02});
  CHECK(ask(unit, {0x03, 0xff, 0xff, 0x00, 2}) == Bytes{0x83, 0x02});
}

TEST_CASE("function is checked before quantity, quantity before address, address before doing") {
  UnitTables unit = example_unit();
  unit.set_trouble(4);
  CHECK(ask(unit, {0x2b, 0xff, 0xff, 0x00, 0x00}) == Bytes{0xab, 0x01});
  CHECK(ask(unit, {0x03, 0xff, 0xff, 0x00, 0x00}) == Bytes{0x83, 0x03});
  CHECK(ask(unit, {0x03, 0xff, 0xff, 0x00, 0x01}) == Bytes{0x83, 0x02});
  CHECK(ask(unit, {0x03, 0x00, 0x00, 0x00, 0x01}) == Bytes{0x83, 0x04});
}

TEST_CASE("quantities of the specification are the largest that are answered") {
  UnitTables unit;
  for (const Table table : {Table::coil, Table::discrete_input, Table::input_register, Table::holding_register}) {
    unit.own(table).cover(0, 3000);
  }
  const auto quantity = [&](int function, int count) {
    return ask(unit, {static_cast<std::uint8_t>(function), 0, 0, static_cast<std::uint8_t>(count >> 8),
                      static_cast<std::uint8_t>(count)});
  };
  for (const int function : {1, 2}) {
    CHECK(quantity(function, 2000).size() == 252);
    CHECK(quantity(function, 2001).back() == 3);
  }
  for (const int function : {3, 4}) {
    CHECK(quantity(function, 125).size() == 252);
    CHECK(quantity(function, 126).back() == 3);
    CHECK(quantity(function, 0).back() == 3);
  }
}

TEST_CASE("a write whose byte count does not fit its quantity changes nothing") {
  UnitTables unit = example_unit();
  CHECK(ask(unit, {0x10, 0x00, 0x01, 0x00, 0x02, 0x03, 0x00, 0x0a, 0x01}) == Bytes{0x90, 0x03});
  CHECK(ask(unit, {0x10, 0x00, 0x01, 0x00, 0x02, 0x04, 0x00, 0x0a, 0x01}) == Bytes{0x90, 0x03});
  CHECK(ask(unit, {0x0f, 0x00, 0x13, 0x00, 0x0a, 0x01, 0xcd}) == Bytes{0x8f, 0x03});
  CHECK(ask(unit, {0x05, 0x00, 0xac, 0x12, 0x34}) == Bytes{0x85, 0x03});
  CHECK(unit.read(Table::holding_register, 1, 2) == std::vector<std::uint16_t>{0, 0});
  CHECK(unit.read(Table::coil, 0xac, 1).front() == 0);
}

TEST_CASE("a request on TCP is told from its bytes however they arrive") {
  // Open Modbus/TCP Specification, example: read one register at offset 4 from unit 9.
  const Bytes request{0, 0, 0, 0, 0, 6, 9, 3, 0, 4, 0, 1};
  ModbusStream stream;
  for (const std::uint8_t byte : request) {
    CHECK_FALSE(stream.next());
    stream.add({&byte, 1});
  }
  const auto message = stream.next();
  REQUIRE(message);
  CHECK(message->transaction == 0);
  CHECK(message->unit_id == 9);
  CHECK(message->pdu == Bytes{3, 0, 4, 0, 1});
  CHECK(message_bytes({0, 9, {3, 2, 0, 5}}) == Bytes{0, 0, 0, 0, 0, 5, 9, 3, 2, 0, 5});
}

TEST_CASE("two requests in one piece are two requests") {
  ModbusStream stream;
  stream.add(Bytes{0, 1, 0, 0, 0, 6, 9, 3, 0, 4, 0, 1, 0, 2, 0, 0, 0, 6, 9, 3, 0, 5, 0, 1});
  CHECK(stream.next()->transaction == 1);
  CHECK(stream.next()->transaction == 2);
  CHECK_FALSE(stream.next());
}

TEST_CASE("bytes that are no Modbus end the connection") {
  for (const Bytes& nonsense : {Bytes{0, 1, 0, 7, 0, 6, 9}, Bytes{0, 1, 0, 0, 0, 1, 9}, Bytes{0, 1, 0, 0, 1, 0, 9}}) {
    ModbusStream stream;
    stream.add(nonsense);
    CHECK_FALSE(stream.next());
    CHECK(stream.broken());
  }
}
