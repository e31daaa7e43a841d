// Getting a connection, or not: refused, deaf, too many descriptors. No test waits for a time.
#include <catch2/catch.hpp>

#include "drivers/boot_clock.hpp"
#include "drivers/make_driver.hpp"
#include "drivers/modbus_tcp.hpp"
#include "tests/support/hand_clock.hpp"
#include "tests/support/many_open_files.hpp"
#include "tests/support/scripted_peer.hpp"

using namespace standfast;

namespace {

Bus tcp_bus(const ModbusTcp& where) {
  Bus bus;
  bus.name = "manifold";
  bus.wire = where;
  return bus;
}

Block one_register() {
  Block block;
  block.start = 10;
  return block;
}

}  // namespace

TEST_CASE("after each refused connection the pause grows, to one second", "[fault-12][fault-13]") {
  const std::vector<Duration> pauses{milliseconds(100), milliseconds(200), milliseconds(400), milliseconds(800), seconds(1), seconds(1)};
  for (std::size_t refusals = 1; refusals <= pauses.size(); ++refusals) {
    HandClock clock;
    ClosedPort port;
    ModbusTcpConnection connection{port.address(), clock};
    const auto connect = [&] { return connection.connect(clock.now() + milliseconds(500)); };
    for (std::size_t i = 0; i + 1 < refusals; ++i) {
      CHECK_FALSE(connect());
      clock.advance(pauses[i]);
    }
    CHECK_FALSE(connect());
    port.open();
    clock.advance(pauses[refusals - 1] - nanoseconds(1));
    CHECK_FALSE(connect());  // Somebody listens now, but it is not tried.
    clock.advance(nanoseconds(1));
    CHECK(connect());
  }
}

TEST_CASE("after a connection the pauses begin again", "[fault-12]") {
  HandClock clock;
  ClosedPort port;
  ModbusTcpConnection connection{port.address(), clock};
  const auto connect = [&] { return connection.connect(clock.now() + milliseconds(500)); };
  for (const Duration pause : {milliseconds(100), milliseconds(200), milliseconds(400)}) {
    CHECK_FALSE(connect());
    clock.advance(pause);
  }
  port.open();
  CHECK(connect());
  connection.close();
  port.shut();
  CHECK_FALSE(connect());
  port.open();
  clock.advance(milliseconds(100));
  CHECK(connect());
}

TEST_CASE("an instrument that is gone is not connected, and one without time left is not tried", "[fault-12]") {
  HandClock clock;
  SharedLines lines;
  auto peer = std::make_unique<ScriptedPeer>();
  const auto driver = std::move(make_driver(tcp_bus(peer->address()), clock, lines).value());
  const auto ask = [&] { return driver->ask(BlockId{0}, one_register(), clock.now() + seconds(1)); };
  REQUIRE(ask().flaw == Flaw::none);
  peer.reset();
  CHECK(ask().flaw == Flaw::not_connected);

  ScriptedPeer other;
  ModbusTcpConnection connection{other.address(), clock};
  CHECK_FALSE(connection.connect(clock.now()));
  CHECK(connection.connect(clock.now() + seconds(1)));  // No attempt was made, so there is no pause.
}

TEST_CASE("why there is no connection is told with the address, until there is one", "[fault-12]") {
  HandClock clock;
  ClosedPort port;
  ModbusTcpConnection connection{port.address(), clock};
  const auto connect = [&] { return connection.connect(clock.now() + milliseconds(500)); };
  const std::string refused = port.address().host + ":" + std::to_string(port.address().port) + ": refused, or no way there";
  CHECK(connection.trouble().empty());
  CHECK_FALSE(connect());
  CHECK(connection.trouble() == refused);
  CHECK_FALSE(connect());  // Before it is tried again.
  CHECK(connection.trouble() == refused);
  port.open();
  clock.advance(seconds(1));
  REQUIRE(connect());
  CHECK(connection.trouble().empty());
}

TEST_CASE("a bus that cannot be reached says where and why in its failed polls", "[fault-12]") {
  HandClock clock;
  SharedLines lines;
  const ClosedPort port;
  const auto driver = std::move(make_driver(tcp_bus(port.address()), clock, lines).value());
  const Scan scan = driver->ask(BlockId{0}, one_register(), clock.now() + milliseconds(500));
  CHECK(scan.flaw == Flaw::not_connected);
  CHECK(std::get<std::string>(scan.raw).ends_with(": refused, or no way there"));
}

TEST_CASE("a host that hears nothing costs no more than the deadline", "[fault-13]") {
  const BootClock clock;
  const DeafPort port;
  ModbusTcpConnection connection{port.address(), clock};
  const Instant deadline = clock.now() + milliseconds(50);
  CHECK_FALSE(connection.connect(deadline));
  CHECK(clock.now() >= deadline);
  CHECK(connection.trouble().ends_with(": does not answer"));
}

TEST_CASE("with 1200 open files the connection is refused and memory stays whole", "[fault-20]") {
  HandClock clock;
  ScriptedPeer peer;
  ModbusTcpConnection connection{peer.address(), clock};
  {
    const ManyOpenFiles files{1200};
    CHECK_FALSE(connection.connect(clock.now() + seconds(1)));
  }
  clock.advance(seconds(1));
  CHECK(connection.connect(clock.now() + seconds(1)));
}

TEST_CASE("an instrument is read over IPv6", "[ipv6]") {
  if (!has_ipv6_loopback()) {
    WARN("this machine has no IPv6: not tried");
    return;
  }
  HandClock clock;
  SharedLines lines;
  const ScriptedPeer peer{{}, "::1"};
  const auto driver = std::move(make_driver(tcp_bus(peer.address()), clock, lines).value());
  CHECK(driver->ask(BlockId{0}, one_register(), clock.now() + seconds(1)).flaw == Flaw::none);
}

TEST_CASE("a name instead of an address is refused with a sentence", "[fault-13]") {
  const BootClock clock;
  SharedLines lines;
  for (const char* host : {"gauge-3.example", "localhost", "", "::1%lo", "300.1.1.1", "127.1", "127.0.0.1 "}) {
    const auto driver = make_driver(tcp_bus({host, 502}), clock, lines);
    REQUIRE_FALSE(driver);
    CHECK(driver.error() == "host '" + std::string{host} + "' is not an IP address such as 192.0.2.10; names are not looked up");
  }
  for (const char* host : {"192.0.2.10", "2001:db8::10"}) CHECK(make_driver(tcp_bus({host, 502}), clock, lines));
}

TEST_CASE("the clock of decisions never goes back, and the wall says a year of our time") {
  const BootClock clock;
  Instant last = clock.now();
  for (int i = 0; i < 10'000; ++i) {
    const Instant now = clock.now();
    REQUIRE(now >= last);
    last = now;
  }
  CHECK(last.ns > 0);
  CHECK(wall_time_now().ns > 1'577'836'800LL * 1'000'000'000);  // 2020-01-01T00:00:00Z
}
