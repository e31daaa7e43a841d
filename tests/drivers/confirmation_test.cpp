// What the output module did not confirm: neither known nor forgotten.
#include <catch2/catch.hpp>

#include "tests/drivers/module_bench.hpp"

using namespace standfast;
using namespace standfast::module_bench;

TEST_CASE("a write that was carried out but not confirmed is not taken for another master's", "[fault-21]") {
  Bench bench;
  CHECK(bench.exchange({stop}).flaw == Flaw::none);
  CHECK(bench.exchange({stop}).flaw == Flaw::none);
  bench.peer.then([](PeerTurn& turn) { turn.answer(); });  // Coils read,
  bench.peer.then([](PeerTurn& turn) { turn.answer(); });
  bench.peer.then([&bench](PeerTurn& turn) {               // written, and silence.
    bench.clock.advance(milliseconds(200));
    turn.wait_for_close();
  });
  const OutputReport lost = bench.exchange({stop, sounder});
  CHECK(lost.flaw == Flaw::no_answer);
  CHECK(lost.written == image({stop}));
  CHECK(bench.coil(2));
  const OutputReport next = bench.exchange({stop, sounder});
  CHECK(next.written == image({stop, sounder}));
  CHECK_FALSE(read_back(next, sounder).has_value());
}

TEST_CASE("an off that nobody confirmed is written again, before anything is read, and what stands meanwhile is not another master's",
          "[fault-21]") {
  Bench bench;
  const ScriptedPeer::Behaviour silence = [&bench](PeerTurn& turn) {
    bench.clock.advance(milliseconds(200));
    turn.wait_for_close();
  };
  const auto change_sounder = [&bench](bool on) { bench.change([on](PeerMemory& memory) { memory.coils[2] = on; }); };
  CHECK(bench.exchange({stop}).flaw == Flaw::none);
  CHECK(bench.exchange({stop}).flaw == Flaw::none);
  for (int coils_read = 0; coils_read < 2; ++coils_read) bench.peer.then([](PeerTurn& turn) { turn.answer(); });
  bench.peer.then(silence);  // Written on, and carried out.
  CHECK(bench.exchange({stop, sounder}).flaw == Flaw::no_answer);
  bench.peer.then(silence);  // Written off, and lost on the way.
  CHECK(bench.exchange({stop}).flaw == Flaw::no_answer);
  change_sounder(true);
  const std::size_t before = bench.asked();
  const OutputReport next = bench.exchange({stop});
  CHECK(next.flaw == Flaw::none);
  CHECK(bench.functions_since(before).front() == 15);
  CHECK_FALSE(read_back(next, sounder).has_value());
  CHECK_FALSE(bench.coil(2));
  change_sounder(true);  // Confirmed off: now it is another master's.
  CHECK(read_back(bench.exchange({stop}), sounder) == true);
}

TEST_CASE("an echo of another value does not confirm", "[fault-21]") {
  Bench bench;
  bench.peer.then([](PeerTurn& turn) {
    FrameBytes echo = turn.right_answer;
    echo[11] = static_cast<std::uint8_t>(echo[11] + 1);
    turn.send(echo);
    turn.wait_for_close();
  });
  const OutputReport report = bench.exchange({stop});
  CHECK(report.flaw == Flaw::malformed);
  CHECK(report.written == OutputImage{});
}
