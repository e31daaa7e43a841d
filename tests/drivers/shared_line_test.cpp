// One serial line that carries the output module and instruments.
#include <catch2/catch.hpp>

#include <atomic>
#include <memory>
#include <thread>

#include "drivers/boot_clock.hpp"
#include "drivers/make_driver.hpp"
#include "drivers/modbus_rtu.hpp"
#include "tests/drivers/module_bench.hpp"
#include "tests/support/rtu_peer.hpp"

using namespace standfast;
using module_bench::image;
using module_bench::sounder;
using module_bench::stop;
using Rank = ModbusRtuLine::Rank;

namespace {

const BootClock boot_clock;

Instant soon() { return boot_clock.now() + seconds(20); }

// Tells when somebody else than its maker has asked for the time.
class WatchedClock final : public Clock {
 public:
  Instant now() const override {
    if (std::this_thread::get_id() != maker_) asked_ = true;
    return boot_clock.now();
  }
  bool asked() const { return asked_; }

 private:
  const std::thread::id maker_{std::this_thread::get_id()};
  mutable std::atomic<bool> asked_{false};
};

Bus bus_of(const RtuPeer& peer) {
  Bus bus;
  bus.name = "line";
  bus.wire = peer.address();
  return bus;
}

Block instrument() {
  Block block;
  block.unit_id = 1;
  block.table = Table::input_register;
  block.start = 10;
  block.count = 2;
  return block;
}

bool coil(const RtuPeer& peer, int number) { return peer.memory().coils.at(number); }

}  // namespace

TEST_CASE("on a line with instruments every exchange of the output module comes through, and all of it ends") {
  RtuPeer peer;
  peer.change(module_bench::as_stated);
  SharedLines lines;
  auto driver = make_driver(bus_of(peer), boot_clock, lines);
  auto outputs = make_output_module(module_bench::module_statement(), bus_of(peer), boot_clock, lines);
  REQUIRE(driver);
  REQUIRE(outputs);
  std::atomic<bool> over{false};
  std::atomic<int> values{0}, flaws{0};
  std::thread instruments{[&] {
    while (!over) ((*driver)->ask(BlockId{0}, instrument(), soon()).flaw == Flaw::none ? values : flaws)++;
  }};
  int unheard = 0, wrong = 0;
  for (int i = 0; i < 40 || values < 40; ++i) {
    const bool on = i % 2 == 0;
    unheard += (*outputs)->exchange(on ? image({sounder}) : image({}), soon()).flaw != Flaw::none;
    wrong += coil(peer, 2) != on;
    std::this_thread::yield();
    while (values < i) std::this_thread::yield();  // Neither crowds the other out.
  }
  over = true;
  instruments.join();
  CHECK(unheard == 0);
  CHECK(wrong == 0);
  CHECK(flaws == 0);
}

TEST_CASE("outputs take a shared line before instruments do") {
  RtuPeer peer;
  const WatchedClock clock;
  ModbusRtuLine line{peer.address(), {}, clock};
  REQUIRE(line.take(Rank::instruments, soon()));
  std::atomic<int> turn{0}, turn_of_outputs{0};
  std::thread outputs{[&] {
    if (!line.take(Rank::outputs, soon())) return;
    turn_of_outputs = ++turn;
    line.give_back();
  }};
  while (!clock.asked()) std::this_thread::yield();
  line.give_back();
  REQUIRE(line.take(Rank::instruments, soon()));
  const int turn_of_instruments = ++turn;
  line.give_back();
  outputs.join();
  CHECK(turn_of_outputs == 1);
  CHECK(turn_of_instruments == 2);
}

TEST_CASE("a shared line that is held is not had, and nobody waits for it beyond the deadline") {
  RtuPeer peer;
  ModbusRtuLine line{peer.address(), {}, boot_clock};
  REQUIRE(line.take(Rank::outputs, soon()));
  CHECK_FALSE(line.take(Rank::outputs, boot_clock.now()));
  CHECK_FALSE(line.take(Rank::instruments, boot_clock.now() + milliseconds(1)));
  line.give_back();
  CHECK(line.take(Rank::instruments, soon()));  // Who gave up waiting no longer goes first.
}

TEST_CASE("what takes away is written to an unproved module at once, and confirmed only behind the proof") {
  RtuPeer peer;
  peer.change(module_bench::as_stated);
  auto line = std::make_shared<ModbusRtuLine>(peer.address(), std::vector<UnitStatement>{}, boot_clock);
  ModbusRtuConnection connection{line, Rank::outputs};
  REQUIRE(connection.connect(soon()));
  CHECK(connection.ask(write_coil({module_bench::unit, Table::coil, 0}, false), soon()).flaw == Flaw::none);
  const auto requests = peer.requests();
  REQUIRE(requests.size() == 3);
  CHECK(requests[0][1] == 5);
  CHECK(requests[1][1] == 8);
  CHECK(requests[2] == requests[0]);
}

TEST_CASE("a module that is always one answer late on a serial line confirms nothing", "[fault-1]") {
  FrameBytes owed;  // The peer's thread alone; it must outlive the peer.
  RtuPeer peer;
  peer.change(module_bench::as_stated);
  SharedLines lines;
  auto outputs = make_output_module(module_bench::module_statement(), bus_of(peer), boot_clock, lines);
  REQUIRE(outputs);
  peer.whenever([&owed](RtuTurn& turn) {
    if (!owed.empty()) turn.send(owed);
    owed = turn.right_answer;
  });
  int confirmed = 0;
  for (int i = 0; i < 30; ++i)
    confirmed += (*outputs)->exchange(image({stop}), boot_clock.now() + milliseconds(20)).flaw == Flaw::none;
  CHECK(confirmed == 0);
  peer.whenever({});
  bool mended = false;
  for (int i = 0; i < 5 && !mended; ++i) mended = (*outputs)->exchange(image({stop}), soon()).flaw == Flaw::none;
  CHECK(mended);
}
