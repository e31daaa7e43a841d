// The device of a serial line: pulled, plugged in again, swapped, held by somebody else, changed by somebody else.
#include <catch2/catch.hpp>
#include <fcntl.h>
#include <sys/resource.h>
#include <termios.h>
#include <unistd.h>

#include <algorithm>

#include "drivers/boot_clock.hpp"
#include "drivers/modbus_bus.hpp"
#include "drivers/modbus_identity.hpp"
#include "drivers/modbus_rtu.hpp"
#include "tests/support/hand_clock.hpp"
#include "tests/support/many_open_files.hpp"
#include "tests/support/rtu_peer.hpp"

using namespace standfast;

namespace {

const BootClock boot_clock;

Block one_register(int unit_id = 1) {
  Block block;
  block.unit_id = unit_id;
  block.start = 10;
  return block;
}

ModbusBus bus_at(const ModbusRtu& where, const Clock& clock, const std::vector<UnitStatement>& units = {}) {
  auto line = std::make_shared<ModbusRtuLine>(where, units, clock);
  auto connection = std::make_unique<ModbusRtuConnection>(std::move(line), ModbusRtuLine::Rank::instruments);
  return {std::make_unique<ModbusIdentity>(std::move(connection), units), clock};
}

Flaw flaw_of(ModbusBus& bus, int unit_id = 1) {
  return bus.ask(BlockId{0}, one_register(unit_id), boot_clock.now() + seconds(20)).flaw;
}

}  // namespace

TEST_CASE("a converter that is pulled is noticed at the next question, and found again under its link", "[fault-9]") {
  RtuPeer peer;
  ModbusBus bus = bus_at(peer.address(), boot_clock);
  REQUIRE(flaw_of(bus) == Flaw::none);
  const std::string first = peer.line().terminal();
  peer.pull();
  CHECK(flaw_of(bus) == Flaw::not_connected);
  CHECK(flaw_of(bus) == Flaw::not_connected);
  const PseudoLine other;  // Takes the old number, so that the new terminal has another.
  peer.plug_in();
  CHECK(peer.line().terminal() != first);
  while (flaw_of(bus) != Flaw::none) {}
  CHECK(flaw_of(bus) == Flaw::none);
}

TEST_CASE("a converter that is pulled while an answer is waited for costs that answer and no more time", "[fault-9]") {
  RtuPeer peer;
  ModbusBus bus = bus_at(peer.address(), boot_clock);
  REQUIRE(flaw_of(bus) == Flaw::none);
  std::atomic<bool> asked{false};
  peer.then([&asked](RtuTurn&) { asked = true; });
  std::thread hand{[&] {
    while (!asked) std::this_thread::yield();
    peer.pull();
  }};
  CHECK(flaw_of(bus) == Flaw::not_connected);
  hand.join();
}

TEST_CASE("a device that is not there is tried again after pauses that grow", "[fault-9]") {
  HandClock clock;
  RtuPeer peer;
  const ModbusRtu where = peer.address();
  peer.pull();
  ModbusRtuConnection connection{std::make_shared<ModbusRtuLine>(where, std::vector<UnitStatement>{}, clock),
                                 ModbusRtuLine::Rank::instruments};
  const auto connect = [&] { return connection.connect(clock.now() + seconds(1)); };
  for (const Duration pause : {milliseconds(100), milliseconds(200), milliseconds(400), milliseconds(800)}) {
    CHECK_FALSE(connect());
    CHECK(connection.refusal() == Flaw::not_connected);
    clock.advance(pause);
  }
  CHECK_FALSE(connect());
  peer.plug_in();
  clock.advance(seconds(1) - nanoseconds(1));
  CHECK_FALSE(connect());  // It is there now, but it is not tried.
  clock.advance(nanoseconds(1));
  CHECK(connect());
}

TEST_CASE("swapped converters are told by the instruments' identity, and give no value", "[fault-10]") {
  RtuPeer one, other;
  other.change([](PeerMemory& memory) { memory.holding[100] = 4711; });
  one.change([](PeerMemory& memory) { memory.holding[100] = 4712; });
  const std::vector<UnitStatement> units{{1, std::nullopt, UnitIdentity{Table::holding_register, 100, 4711}}};
  ModbusBus swapped = bus_at(one.address(), boot_clock, units), right = bus_at(other.address(), boot_clock, units);
  const Scan scan = swapped.ask(BlockId{0}, one_register(), boot_clock.now() + seconds(20));
  CHECK(scan.flaw == Flaw::wrong_instrument);
  CHECK(std::get<std::string>(scan.raw) == "holding register 100 reads 4712, 4711 is stated");
  CHECK(flaw_of(swapped) == Flaw::wrong_instrument);
  CHECK(flaw_of(swapped, 2) == Flaw::none);  // Of another unit nothing is stated.
  CHECK(flaw_of(right) == Flaw::none);
  one.change([](PeerMemory& memory) { memory.holding[100] = 4711; });
  CHECK(flaw_of(swapped) == Flaw::none);
  const auto requests = other.requests();  // Read once, behind the proof and before anything else.
  CHECK(std::count_if(requests.begin(), requests.end(), [](const FrameBytes& frame) { return frame[3] == 100; }) == 1);
  CHECK(requests[1][3] == 100);
}

TEST_CASE("who does not have the register of the identity is another instrument", "[fault-10]") {
  RtuPeer peer;
  ModbusBus bus = bus_at(peer.address(), boot_clock, {{1, std::nullopt, UnitIdentity{Table::holding_register, 100, 4711}}});
  peer.whenever([](RtuTurn& turn) {
    const bool of_the_identity = turn.request[1] == 3 && turn.request[3] == 100;
    of_the_identity ? turn.send(with_checksum({1, 0x83, 2})) : turn.answer();  // Illegal data address.
  });
  const Scan scan = bus.ask(BlockId{0}, one_register(), boot_clock.now() + seconds(20));
  CHECK(scan.flaw == Flaw::wrong_instrument);
  CHECK(std::get<std::string>(scan.raw) == "holding register 100 is refused, 4711 is stated");
}

TEST_CASE("behind an exception, too, the identity is asked for before anything counts", "[fault-10]") {
  RtuPeer peer;
  peer.change([](PeerMemory& memory) { memory.holding[100] = 4711; });
  ModbusBus bus = bus_at(peer.address(), boot_clock, {{1, std::nullopt, UnitIdentity{Table::holding_register, 100, 4711}}});
  REQUIRE(flaw_of(bus) == Flaw::none);
  peer.then([](RtuTurn& turn) { turn.send(with_checksum({1, static_cast<std::uint8_t>(turn.request[1] | 0x80U), 4})); });
  CHECK(flaw_of(bus) == Flaw::exception_failed);
  peer.change([](PeerMemory& memory) { memory.holding[100] = 4712; });  // Another was plugged in meanwhile.
  CHECK(flaw_of(bus) == Flaw::wrong_instrument);
}

TEST_CASE("an instrument of which the rig names the identity proves it again after each flaw", "[fault-10]") {
  RtuPeer peer;
  peer.change([](PeerMemory& memory) { memory.input[7] = 4711; });
  ModbusBus bus = bus_at(peer.address(), boot_clock, {{1, std::nullopt, UnitIdentity{Table::input_register, 7, 4711}}});
  REQUIRE(flaw_of(bus) == Flaw::none);
  peer.then([](RtuTurn& turn) { turn.send(FrameBytes(30)); });
  CHECK(flaw_of(bus) == Flaw::malformed);
  peer.change([](PeerMemory& memory) { memory.input[7] = 1; });
  CHECK(flaw_of(bus) == Flaw::wrong_instrument);
}

TEST_CASE("a line that cannot be opened is told with its device and the system's word for it", "[fault-9]") {
  const auto told = [](ModbusBus& bus) {
    return std::get<std::string>(bus.ask(BlockId{0}, one_register(), boot_clock.now() + seconds(20)).raw);
  };
  RtuPeer peer;
  ModbusBus first = bus_at(peer.address(), boot_clock), second = bus_at(peer.address(), boot_clock);
  const std::string device = peer.address().serial.device;
  REQUIRE(flaw_of(first) == Flaw::none);
  CHECK(told(second) == device + ": Device or resource busy");
  ModbusRtu nowhere = peer.address();
  nowhere.serial.device += "-of-nobody";
  ModbusBus lost = bus_at(nowhere, boot_clock);
  CHECK(told(lost) == device + "-of-nobody: No such file or directory");
  CHECK(told(lost) == device + "-of-nobody: No such file or directory");  // Before it is tried again.
  const Scan good = first.ask(BlockId{0}, one_register(), boot_clock.now() + seconds(20));
  CHECK(std::holds_alternative<Words>(good.raw));
}

TEST_CASE("a line that somebody else holds is refused, and taken when it is free", "[fault-11]") {
  RtuPeer peer;
  auto first = std::make_unique<ModbusBus>(bus_at(peer.address(), boot_clock));
  ModbusBus second = bus_at(peer.address(), boot_clock);
  REQUIRE(flaw_of(*first) == Flaw::none);
  CHECK(flaw_of(second) == Flaw::line_in_use);
  CHECK(flaw_of(*first) == Flaw::none);
  first.reset();
  while (flaw_of(second) != Flaw::none) {}
}

TEST_CASE("settings that another program changed are set back and told, and the next answer is proved", "[fault-11]") {
  RtuPeer peer;
  ModbusBus bus = bus_at(peer.address(), boot_clock);
  REQUIRE(flaw_of(bus) == Flaw::none);
  termios settings{}, changed{};
  REQUIRE(tcgetattr(peer.line().device_end(), &settings) == 0);
  changed = settings;
  cfsetspeed(&changed, B4800);
  REQUIRE(tcsetattr(peer.line().device_end(), TCSANOW, &changed) == 0);
  int asked = 0;
  while (asked < 100 && flaw_of(bus) != Flaw::line_changed) ++asked;
  CHECK(asked < 40);
  CHECK(flaw_of(bus) == Flaw::none);
  REQUIRE(tcgetattr(peer.line().device_end(), &changed) == 0);
  CHECK(cfgetospeed(&changed) == cfgetospeed(&settings));
  CHECK(peer.requests().end()[-2][1] == 8);
}

TEST_CASE("with 1200 open files a serial line is not opened", "[fault-20]") {
  RtuPeer peer;
  ModbusBus bus = bus_at(peer.address(), boot_clock);
  {
    const ManyOpenFiles files{1200};
    CHECK(flaw_of(bus) == Flaw::not_connected);
  }
  while (flaw_of(bus) != Flaw::none) {}
}

TEST_CASE("noise and another baud rate are garbled, not an instrument that answers wrongly", "[fault-19]") {
  RtuPeer peer;
  ModbusBus bus = bus_at(peer.address(), boot_clock);
  peer.whenever([](RtuTurn& turn) { turn.send({0xF8, 0x00, 0xFF, 0x80, 0x1C}); });
  for (int i = 0; i < 5; ++i)
    CHECK(bus.ask(BlockId{0}, one_register(), boot_clock.now() + milliseconds(30)).flaw == Flaw::garbled);
  peer.whenever({});
  CHECK(flaw_of(bus) == Flaw::none);
}
