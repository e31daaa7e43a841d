// Our driver against a server that is not ours: Debian's python3-pymodbus 3.0.0, which lays out the numbers itself, over TCP
// and over a serial line of socat's. Without these packages the tests fail; they are never skipped.
#include <catch2/catch.hpp>

#include "config/raw_value.hpp"
#include "drivers/boot_clock.hpp"
#include "drivers/make_driver.hpp"
#include "tests/support/child_process.hpp"

using namespace standfast;

namespace {

const std::string rtu = "rtu";

class PymodbusServer {
 public:
  explicit PymodbusServer(const std::string& wire) : process_{{PYTHON, TEST_DATA "/drivers/pymodbus_server.py", wire}} {
    const std::string where = process_.read_line();
    INFO("the server said '" << where << "' instead of where it is: are python3-pymodbus and socat installed?");
    REQUIRE_FALSE(where.empty());
    bus_.name = "outside";
    if (wire == rtu) {
      ModbusRtu line;
      line.serial.device = where;
      line.serial.baud = 115200;
      line.slowest_answer = milliseconds(100);
      bus_.wire = line;
      return;
    }
    REQUIRE(where.find_first_not_of("0123456789") == std::string::npos);
    bus_.wire = ModbusTcp{"127.0.0.1", static_cast<std::uint16_t>(std::stoi(where))};
  }
  const Bus& bus() const { return bus_; }
  std::string coils() {
    process_.write_line("coils");
    return process_.read_line();
  }

 private:
  ChildProcess process_;
  Bus bus_;
};

struct Outside {
  BootClock clock;
  SharedLines lines;
  PymodbusServer server{GENERATE(as<std::string>{}, "tcp", "rtu")};
  std::unique_ptr<Driver> driver = std::move(make_driver(server.bus(), clock, lines).value());

  Scan read(Table table, int start, int count) { return read_of_unit(1, table, start, count, seconds(20)); }
  Scan read_of_unit(int unit_id, Table table, int start, int count, Duration patience) {
    Block block;
    block.unit_id = unit_id;
    block.table = table;
    block.start = start;
    block.count = count;
    return driver->ask(BlockId{0}, block, clock.now() + patience);
  }
};

struct Laid {  // As in pymodbus_server.py.
  int offset;
  RawType type;
  double value;
};
const std::vector<Laid> numbers{{0, RawType::float32, 123456.0},
                                {2, RawType::float32, -0.015625},
                                {4, RawType::int32, -1234567},
                                {6, RawType::uint32, 4000000000.0},
                                {8, RawType::float64, 3.141592653589793},
                                {12, RawType::int64, -9007199254740992.0},
                                {16, RawType::uint64, 9007199254740992.0},
                                {20, RawType::int16, -2},
                                {21, RawType::uint16, 65533}};

}  // namespace

TEST_CASE("numbers laid out by another program are read in every word and byte order", "[outside][fault-14]") {
  Outside outside;
  int start = 0;
  for (const Order byte_order : {Order::big, Order::little})
    for (const Order word_order : {Order::big, Order::little}) {
      const Scan scan = outside.read(Table::holding_register, start, 30);
      REQUIRE(scan.flaw == Flaw::none);
      const std::span<const std::uint16_t> words{std::get<Words>(scan.raw)};
      const auto at = [&](int offset, RawType type) {
        return raw_value(words.subspan(static_cast<std::size_t>(offset), static_cast<std::size_t>(words_of(type))), type,
                         word_order, byte_order);
      };
      for (const Laid& number : numbers) {
        INFO("registers " << start << " plus " << number.offset);
        const auto value = at(number.offset, number.type);
        REQUIRE(value);
        CHECK(*value == number.value);
      }
      CHECK(at(22, RawType::float32).error() == RawFault::not_a_number);
      CHECK(at(24, RawType::float32).error() == RawFault::infinite);
      CHECK(at(26, RawType::float32).error() == RawFault::denormal);
      start += 30;
    }
}

TEST_CASE("the four tables of another program's server are read", "[outside]") {
  Outside outside;
  const Scan registers = outside.read(Table::input_register, 0, 125);
  REQUIRE(registers.flaw == Flaw::none);
  for (std::size_t i = 0; i < 125; ++i) REQUIRE(std::get<Words>(registers.raw)[i] == static_cast<std::uint16_t>(i * 257));
  const Scan coils = outside.read(Table::coil, 0, 100), inputs = outside.read(Table::discrete_input, 0, 100);
  REQUIRE(coils.flaw == Flaw::none);
  REQUIRE(inputs.flaw == Flaw::none);
  for (std::size_t i = 0; i < 100; ++i) {
    REQUIRE(std::get<Bits>(coils.raw)[i] == (i % 3 == 0));
    REQUIRE(std::get<Bits>(inputs.raw)[i] == (i % 5 == 0));
  }
}

// APP 7 (MODBUS Application Protocol Specification V1.1b3): of 100 registers, start 96 with quantity 4 is there, quantity 5
// is not and is answered with exception 2.
TEST_CASE("a block that runs over the end of another program's table is refused (M-24, M-25)", "[outside][fault-8]") {
  Outside outside;
  CHECK(outside.read(Table::coil, 96, 4).flaw == Flaw::none);
  CHECK(outside.read(Table::coil, 96, 5).flaw == Flaw::exception_refused);
  CHECK(outside.read(Table::coil, 96, 4).flaw == Flaw::none);
}

TEST_CASE("a unit that another program's gateway does not have gives no value", "[outside][fault-8]") {
  Outside outside;
  const Scan scan = outside.read_of_unit(77, Table::coil, 0, 1, milliseconds(300));
  CHECK(scan.flaw == Flaw::no_answer);  // This one says nothing; others answer with exception 10 or 11.
  CHECK(std::get<Bits>(scan.raw).empty());
  CHECK(outside.read(Table::coil, 0, 1).flaw == Flaw::none);
}

TEST_CASE("coils are written in another program's server and read back from it", "[outside][fault-21]") {
  Outside outside;
  OutputModuleStatement statement;
  statement.unit_id = 9;
  for (const auto& [kind, coil] : {std::pair{OutputKind::stop_relay, 1}, {OutputKind::sounder, 2}, {OutputKind::heartbeat, 7}}) {
    Output output;
    output.kind = kind;
    output.coil = coil;
    statement.outputs.push_back(output);
  }
  statement.outputs[0].readback = 4;
  statement.watchdog_register = 0;
  statement.watchdog_unit = milliseconds(100);
  const auto module = std::move(make_output_module(statement, outside.server.bus(), outside.clock, outside.lines).value());
  OutputImage wanted;
  wanted[OutputKind::stop_relay] = wanted[OutputKind::heartbeat] = true;
  OutputReport report = module->exchange(wanted, outside.clock.now() + seconds(20));
  REQUIRE(report.flaw == Flaw::none);
  CHECK(report.written == wanted);
  CHECK(report.readback[static_cast<std::size_t>(OutputKind::stop_relay)] == false);  // Its contact never closes.
  CHECK(report.facts.watchdog == seconds(2));
  CHECK(outside.server.coils() == "01000001");
  report = module->exchange({}, outside.clock.now() + seconds(20));
  REQUIRE(report.flaw == Flaw::none);
  CHECK(outside.server.coils() == "00000000");
}
