// The output module: what is written, in which order, and what keeps a permit off.
#include <catch2/catch.hpp>

#include <memory>

#include "tests/drivers/module_bench.hpp"

using namespace standfast;
using namespace standfast::module_bench;

TEST_CASE("the image is written and the contacts are read back") {
  Bench bench;
  const OutputReport report = bench.exchange({stop, sounder});
  CHECK(report.flaw == Flaw::none);
  CHECK(report.written == image({stop, sounder}));
  CHECK(read_back(report, stop) == true);
  CHECK(read_back(report, raise) == false);
  CHECK_FALSE(read_back(report, sounder).has_value());
  CHECK(report.at == bench.clock.now());
  CHECK(bench.coil(1));
  CHECK(bench.coil(2));
  CHECK_FALSE(bench.coil(0));
}

TEST_CASE("coils next to each other are written together, a single one alone, the permits first") {
  Bench bench;
  CHECK(bench.exchange({}).flaw == Flaw::none);
  CHECK(bench.exchange({}).flaw == Flaw::none);
  const std::size_t before = bench.asked();
  CHECK(bench.exchange({stop, OutputKind::heartbeat}).flaw == Flaw::none);
  // Coils 0 to 2 and 7 read, written with functions 15 and 5, contacts read.
  CHECK(bench.functions_since(before) == std::vector<int>{1, 1, 15, 5, 2});
  CHECK(bench.coil(7));
}

TEST_CASE("the permits' run comes first wherever its coil stands") {
  OutputModuleStatement statement = module_statement();
  for (Output& output : statement.outputs)
    if (output.kind == raise) output.coil = 30;
  Bench bench{statement};
  bench.change([](PeerMemory& memory) { memory.coils[30] = true; });
  CHECK(bench.exchange({}).flaw == Flaw::none);
  const FrameBytes first = bench.peer.requests().front();
  CHECK(first[7] == 5);
  CHECK(first[9] == 30);
  CHECK_FALSE(bench.coil(30));
}

TEST_CASE("the first exchange of all writes before it reads, for nobody knows what stands") {
  Bench bench;
  bench.change([](PeerMemory& memory) { memory.coils[0] = true; });
  CHECK(bench.exchange({stop}).flaw == Flaw::none);
  CHECK(bench.functions_since(0).front() == 15);
  CHECK_FALSE(bench.coil(0));
}

TEST_CASE("what takes away is written before anything is read") {
  Bench bench;
  while (!bench.exchange({raise, stop}).written[raise]) {}
  const std::size_t before = bench.asked();
  CHECK(bench.exchange({stop}).written == image({stop}));
  CHECK(bench.functions_since(before).front() == 15);
  CHECK_FALSE(bench.coil(0));
}

TEST_CASE("the module's facts are read on a fresh connection", "[fault-23]") {
  Bench bench;
  const ModuleFacts facts = bench.exchange({}).facts;
  CHECK(facts.watchdog == seconds(2));
  CHECK(facts.safe_values_as_stated);
  CHECK(facts.power_on_values_as_stated);
  CHECK_FALSE(facts.simulated);
}

TEST_CASE("a wrong, absent or unstated setting is not as stated", "[fault-23]") {
  Bench bench;
  SECTION("watchdog off") {
    bench.change([](PeerMemory& memory) { memory.holding[watchdog_register] = 0; });
    CHECK(bench.exchange({}).facts.watchdog == Duration{});
  }
  SECTION("watchdog not there") {
    bench.change([](PeerMemory& memory) { memory.holding.erase(watchdog_register); });
    const OutputReport report = bench.exchange({});
    CHECK(report.flaw == Flaw::none);
    CHECK_FALSE(report.facts.watchdog.has_value());
  }
  SECTION("second safe value wrong") {
    bench.change([](PeerMemory& memory) { memory.holding[safe_register + 1] = 1; });
    CHECK_FALSE(bench.exchange({}).facts.safe_values_as_stated);
  }
  SECTION("power-on value wrong") {
    bench.change([](PeerMemory& memory) { memory.holding[power_on_register] = 255; });
    CHECK_FALSE(bench.exchange({}).facts.power_on_values_as_stated);
  }
  SECTION("safe values not there") {
    bench.change([](PeerMemory& memory) { memory.holding.erase(safe_register); });
    CHECK_FALSE(bench.exchange({}).facts.safe_values_as_stated);
  }
  SECTION("nothing stated") {
    OutputModuleStatement statement = module_statement();
    statement.watchdog_register.reset();
    statement.safe_values.clear();
    statement.power_on_values.clear();
    Bench bare{statement};
    CHECK(bare.exchange({}).facts == ModuleFacts{});
  }
}

TEST_CASE("a simulated module is known by its mark", "[fault-52]") {
  Bench bench;
  bench.change([](PeerMemory& memory) {
    memory.holding[simulation_mark_register] = simulation_mark[0];
    memory.holding[simulation_mark_register + 1] = simulation_mark[1];
  });
  CHECK(bench.exchange({}).facts.simulated);
  Bench other;
  other.change([](PeerMemory& memory) {
    memory.holding[simulation_mark_register] = simulation_mark[1];
    memory.holding[simulation_mark_register + 1] = simulation_mark[0];
  });
  CHECK_FALSE(other.exchange({}).facts.simulated);
}

TEST_CASE("a permit goes on only on facts that a report has shown", "[fault-23]") {
  Bench bench;
  const OutputReport first = bench.exchange({raise, stop});
  CHECK(first.flaw == Flaw::none);
  CHECK(first.written == image({stop}));
  CHECK_FALSE(bench.coil(0));
  const OutputReport second = bench.exchange({raise, stop});
  CHECK(second.written == image({raise, stop}));
  CHECK(read_back(second, raise) == true);
  CHECK(bench.coil(0));

  CHECK(bench.exchange({stop}).written == image({stop}));
  bench.change([](PeerMemory& memory) { memory.holding[watchdog_register] = 0; });
  const OutputReport changed = bench.exchange({raise, stop});
  CHECK(changed.facts.watchdog == Duration{});
  CHECK_FALSE(changed.written[raise]);
  CHECK_FALSE(bench.coil(0));
}

TEST_CASE("a permit that comes on while something else goes off waits for the facts like any other", "[fault-23]") {
  Bench bench;
  for (int i = 0; i < 2; ++i) CHECK(bench.exchange({stop, sounder}).facts.watchdog == seconds(2));
  bench.change([](PeerMemory& memory) { memory.holding[watchdog_register] = 0; });
  const std::size_t before = bench.asked();
  const OutputReport report = bench.exchange({raise, stop});
  CHECK(report.flaw == Flaw::none);
  CHECK(report.facts.watchdog == Duration{});
  CHECK(report.written == image({stop}));
  CHECK_FALSE(bench.coil(0));
  CHECK_FALSE(bench.coil(2));
  CHECK(bench.functions_since(before).front() == 5);  // The sounder is off before anything is read.
}

TEST_CASE("a permit that the module lost does not come back with the exchange in which something else goes off", "[fault-24]") {
  Bench bench;
  while (!bench.exchange({raise, stop, sounder}).written[raise]) {}
  bench.change([](PeerMemory& memory) { memory.coils[0] = false; });
  const OutputReport report = bench.exchange({raise, stop});
  CHECK(report.written[raise]);
  CHECK(read_back(report, raise) == false);
  CHECK_FALSE(bench.coil(0));
  CHECK_FALSE(bench.coil(2));
  for (int i = 0; i < 3; ++i) {
    CHECK(bench.exchange(i % 2 ? image({raise, stop}) : image({raise, stop, sounder})).written[raise]);
    CHECK_FALSE(bench.coil(0));
  }
}

TEST_CASE("a permit that stands goes on while something else goes off") {
  Bench bench;
  while (!bench.exchange({raise, stop, sounder}).written[raise]) {}
  const OutputReport report = bench.exchange({raise, stop});
  CHECK(report.written == image({raise, stop}));
  CHECK(bench.coil(0));
}

TEST_CASE("a permit that stands goes on through a lost connection") {
  Bench bench;
  while (!bench.exchange({raise, stop}).written[raise]) {}
  bench.peer.then([](PeerTurn& turn) { turn.hang_up(); });
  const OutputReport lost = bench.exchange({raise, stop});
  CHECK(lost.flaw == Flaw::not_connected);
  CHECK(lost.written == image({raise, stop}));
  const OutputReport again = bench.exchange({raise, stop});
  CHECK(again.flaw == Flaw::none);
  CHECK(again.written == image({raise, stop}));
  CHECK(bench.coil(0));
  CHECK(bench.peer.connections() == 2);
}

TEST_CASE("the facts are read again on every connection, and a permit does not outlive their change", "[fault-23]") {
  Bench bench;
  while (!bench.exchange({raise, stop}).written[raise]) {}
  bench.peer.then([](PeerTurn& turn) { turn.hang_up(); });
  CHECK(bench.exchange({raise, stop}).flaw == Flaw::not_connected);
  bench.change([](PeerMemory& memory) { memory.holding[watchdog_register] = 0; });
  const OutputReport report = bench.exchange({raise, stop});
  CHECK(report.flaw == Flaw::none);
  CHECK(report.facts.watchdog == Duration{});
  CHECK(report.written == image({stop}));
  CHECK_FALSE(bench.coil(0));
}

TEST_CASE("a permit that the module lost stays off until it is no longer wanted", "[fault-24]") {
  Bench bench;
  while (!bench.exchange({raise, stop}).written[raise]) {}
  // The module restarts: the connection is gone and the outputs stand at their power-on values.
  bench.peer.then([&bench](PeerTurn& turn) {
    bench.change([](PeerMemory& memory) { memory.coils[0] = memory.coils[1] = false; });
    turn.reset();
  });
  CHECK(bench.exchange({raise, stop}).flaw == Flaw::not_connected);
  for (int i = 0; i < 5; ++i) {
    const OutputReport report = bench.exchange({raise, stop});
    CHECK(report.flaw == Flaw::none);
    CHECK(report.written[raise]);
    CHECK(read_back(report, raise) == false);
    CHECK_FALSE(bench.coil(0));
  }
  CHECK_FALSE(bench.exchange({stop}).written[raise]);
  CHECK(bench.exchange({raise, stop}).written[raise]);
  CHECK(bench.coil(0));
}

TEST_CASE("another master that takes the permit is seen within one exchange", "[fault-25]") {
  Bench bench;
  while (!bench.exchange({raise, stop}).written[raise]) {}
  bench.change([](PeerMemory& memory) { memory.coils[0] = false; });
  const OutputReport report = bench.exchange({raise, stop});
  CHECK(report.flaw == Flaw::none);  // A module may switch off by itself.
  CHECK(report.written[raise]);
  CHECK(read_back(report, raise) == false);
  CHECK_FALSE(bench.coil(0));
}

TEST_CASE("another master that energises is seen within one exchange and written off", "[fault-25]") {
  Bench bench;
  CHECK(bench.exchange({stop}).flaw == Flaw::none);
  bench.change([](PeerMemory& memory) { memory.coils[0] = memory.coils[2] = true; });
  const OutputReport report = bench.exchange({stop});
  CHECK(report.flaw == Flaw::energised_by_another);
  CHECK_FALSE(report.written[raise]);
  CHECK(read_back(report, raise) == true);
  CHECK(read_back(report, sounder) == true);  // Not read back otherwise.
  CHECK_FALSE(bench.coil(0));
  CHECK_FALSE(bench.coil(2));
  const OutputReport next = bench.exchange({stop});
  CHECK(next.flaw == Flaw::none);
  CHECK_FALSE(read_back(next, sounder).has_value());
}

TEST_CASE("of a permit that stood while the cable was out it is told what was found, before it is written off", "[fault-21]") {
  for (const bool kept : {true, false}) {
    Bench bench;
    while (!bench.exchange({raise, stop}).written[raise]) {}
    bench.peer.then([](PeerTurn& turn) { turn.hang_up(); });
    REQUIRE(bench.exchange({stop}).flaw == Flaw::not_connected);
    bench.change([kept](PeerMemory& memory) { memory.coils[0] = kept; });
    const OutputReport report = bench.exchange({stop});
    CHECK(report.flaw == Flaw::none);
    CHECK_FALSE(report.written[raise]);
    CHECK(read_back(report, raise) == kept);
    CHECK_FALSE(bench.coil(0));
    CHECK(read_back(bench.exchange({stop}), raise) == false);
  }
}

TEST_CASE("a module that does not say what it kept is written off all the same", "[fault-21]") {
  Bench bench;
  while (!bench.exchange({raise, stop}).written[raise]) {}
  for (int i = 0; i < 2; ++i) {  // The off is lost, and then the look.
    bench.peer.then([](PeerTurn& turn) { turn.hang_up(); });
    REQUIRE(bench.exchange({stop}).flaw == Flaw::not_connected);
  }
  const std::size_t before = bench.asked();
  CHECK(bench.exchange({stop}).flaw == Flaw::none);
  CHECK(bench.functions_since(before).front() != 1);
  CHECK_FALSE(bench.coil(0));
}

TEST_CASE("a contact that disagrees with its coil is reported as it reads", "[fault-22]") {
  Bench bench;
  bench.change([](PeerMemory& memory) {
    memory.contact_of_coil.clear();
    memory.discrete = {{16, true}, {17, false}};
  });
  const OutputReport report = bench.exchange({stop});
  CHECK(read_back(report, raise) == true);  // Welded.
  CHECK(read_back(report, stop) == false);  // Circuit open.
}

TEST_CASE("a refused write fails the exchange, and the other coils are written all the same", "[fault-21]") {
  Bench bench;
  bench.change([](PeerMemory& memory) { memory.coils[0] = memory.coils[7] = true; });
  bench.peer.then(refuse(4));  // The write of coils 0 to 2.
  const OutputReport report = bench.exchange({stop});
  CHECK(report.flaw == Flaw::exception_failed);
  CHECK(report.written == OutputImage{});
  CHECK_FALSE(bench.coil(7));
  CHECK(bench.exchange({stop}).flaw == Flaw::none);
  CHECK(bench.peer.connections() == 2);
}

TEST_CASE("a silent module costs one deadline, not one for each request", "[fault-21]") {
  Bench bench;
  bench.peer.then([&bench](PeerTurn& turn) {
    bench.clock.advance(milliseconds(200));
    turn.wait_for_close();
  });
  CHECK(bench.exchange({raise, stop}).flaw == Flaw::no_answer);
  CHECK(bench.asked() == 1);
}
