// What the way from the wire to the engine and back costs in memory, over a real socket: the words of an answer, which the
// record keeps, and nothing else. Counted is this thread's operator new; the instrument has a thread of its own.
#include <catch2/catch.hpp>

#include "daemon/service/inbox.hpp"
#include "daemon/service/output_pass.hpp"
#include "drivers/boot_clock.hpp"
#include "drivers/modbus_bus.hpp"
#include "tests/allocations/counted.hpp"
#include "tests/drivers/module_bench.hpp"

namespace standfast::test {
namespace {

constexpr int warm_up = 20, counted_turns = 200;

template <class Turn>
std::int64_t allocations_of_turns(Turn turn) {
  for (int i = 0; i < warm_up; ++i) turn();
  return allocations_of([&] {
    for (int i = 0; i < counted_turns; ++i) turn();
  });
}

}  // namespace

TEST_CASE("asking an instrument and handing its answer to the engine takes memory once, for its words") {
  const BootClock clock;
  ScriptedPeer peer;
  peer.change([](PeerMemory& memory) {
    for (int i = 0; i < 64; ++i) memory.input[i] = static_cast<std::uint16_t>(8'000 + i);
  });
  ModbusBus bus{std::make_unique<ModbusTcpConnection>(peer.address(), clock), clock};
  Block block;
  block.table = Table::input_register;
  block.unit_id = 1;
  block.count = 64;
  Inbox inbox;
  int answered = 0;
  const std::int64_t taken = allocations_of_turns([&] {
    inbox.add_scan(bus.ask(BlockId{0u}, block, clock.now() + seconds(20)));
    const auto next = inbox.take();
    answered += next && std::get<Scan>(next->what).flaw == Flaw::none;
  });
  CHECK(answered == warm_up + counted_turns);
  CHECK(taken == counted_turns);
}

TEST_CASE("writing the outputs and reading them back takes no memory while nothing changes") {
  const BootClock clock;
  ScriptedPeer peer;
  peer.change(module_bench::as_stated);
  ModbusOutputs outputs{std::make_unique<ModbusTcpConnection>(peer.address(), clock), module_bench::module_statement(), clock};
  OutputPass pass{outputs, {.timeout = seconds(20), .heartbeat_period = milliseconds(500)}, clock};
  Inbox inbox;
  std::int64_t applies = 0;
  bool on = false;
  const std::int64_t taken = allocations_of_turns([&] {
    Wanted wanted{.image = module_bench::image({module_bench::raise, module_bench::stop}), .known_at = clock.now(), .applies = ++applies};
    OutputPass::Done done = pass.once(wanted);
    on = done.report.flaw == Flaw::none && done.report.written[module_bench::raise];
    inbox.add_report(std::move(done.report));
    (void)inbox.take();
  });
  CHECK(on);
  CHECK(taken == 0);
}

}  // namespace standfast::test
