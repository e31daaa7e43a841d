// Instruments that answer late, wrongly, too much, too little or in drops. No test waits for a time: the clock is moved by
// the peer, and the end is that the peer has seen the connection closed.
#include <catch2/catch.hpp>

#include <latch>
#include <memory>

#include "drivers/modbus_bus.hpp"
#include "drivers/modbus_tcp.hpp"
#include "tests/support/hand_clock.hpp"
#include "tests/support/scripted_peer.hpp"

using namespace standfast;

namespace {

constexpr Duration patience = milliseconds(200);  // Long enough for a real exchange on loopback on a busy machine.

Block registers(int start, int count = 2) {
  Block block;
  block.unit_id = 1;
  block.table = Table::holding_register;
  block.start = start;
  block.count = count;
  return block;
}

struct Bench {
  HandClock clock;
  ScriptedPeer peer;
  ModbusBus bus{std::make_unique<ModbusTcpConnection>(peer.address(), clock), clock};

  explicit Bench(std::vector<ScriptedPeer::Behaviour> script = {}) : peer{std::move(script)} {}
  Scan ask(const Block& block) { return bus.ask(BlockId{3}, block, clock.now() + patience); }
};

// What stands in the peer's registers; nothing else is ever a right value.
bool right(const Scan& scan, const Block& block) {
  const Words* words = std::get_if<Words>(&scan.raw);
  if (!words || words->size() != static_cast<std::size_t>(block.count)) return false;
  for (int i = 0; i < block.count; ++i)
    if ((*words)[static_cast<std::size_t>(i)] != static_cast<std::uint16_t>((block.start + i) * 257 + 3)) return false;
  return true;
}

bool has_no_value(const Scan& scan) { return std::get<Words>(scan.raw).empty(); }

using Change = std::function<void(FrameBytes&)>;
ScriptedPeer::Behaviour answering(Change change) {
  return [change](PeerTurn& turn) {
    FrameBytes answer = turn.right_answer;
    change(answer);
    turn.send(answer);
    turn.wait_for_close();
  };
}

// One such answer: no value, this flaw, the connection closed, and the next answer good on a new one.
void check_refused(const Change& change, Flaw flaw) {
  Bench bench{{answering(change)}};
  const Scan scan = bench.ask(registers(100));
  CHECK(scan.flaw == flaw);
  CHECK(has_no_value(scan));
  REQUIRE(bench.peer.wait_for_closes(1));
  const Scan next = bench.ask(registers(200));
  CHECK(next.flaw == Flaw::none);
  CHECK(right(next, registers(200)));
  CHECK(bench.peer.connections() == 2);
  CHECK(bench.peer.unasked_bytes() == 0);
}

void set(FrameBytes& frame, std::size_t at, int value) { frame[at] = static_cast<std::uint8_t>(value); }

}  // namespace

TEST_CASE("an honest instrument is read on one connection") {
  Bench bench;
  for (int i = 0; i < 50; ++i) {
    const Scan scan = bench.ask(registers(i * 3, 1 + i));
    REQUIRE(scan.flaw == Flaw::none);
    REQUIRE(right(scan, registers(i * 3, 1 + i)));
    REQUIRE(scan.block == BlockId{3});
    REQUIRE(scan.taken_at == bench.clock.now());
  }
  CHECK(bench.peer.connections() == 1);
}

TEST_CASE("all four tables are read") {
  Bench bench;
  Block block = registers(8, 4);
  block.table = Table::input_register;
  CHECK(std::get<Words>(bench.ask(block).raw) == Words{8 * 263 + 5, 9 * 263 + 5, 10 * 263 + 5, 11 * 263 + 5});
  block.table = Table::coil;
  CHECK(std::get<Bits>(bench.ask(block).raw) == Bits{0, 1, 0, 0});
  block.table = Table::discrete_input;
  CHECK(std::get<Bits>(bench.ask(block).raw) == Bits{0, 0, 1, 0});
  block.start = 5000;
  const Scan refused = bench.ask(block);
  CHECK(refused.flaw == Flaw::exception_refused);
  CHECK(std::get<Bits>(refused.raw).empty());
}

TEST_CASE("a peer that is late by one answer for 1000 requests gives no value at all", "[fault-3]") {
  auto earlier = std::make_shared<FrameBytes>();
  const ScriptedPeer::Behaviour late_by_one = [earlier](PeerTurn& turn) {
    if (earlier->empty()) turn.answer();
    else turn.send(*earlier);
    *earlier = turn.right_answer;
  };
  Bench bench{std::vector<ScriptedPeer::Behaviour>(1001, late_by_one)};
  REQUIRE(bench.ask(registers(0)).flaw == Flaw::none);
  int values = 0, late = 0;
  for (int i = 1; i <= 1000; ++i) {
    const Scan scan = bench.ask(registers(i % 900));
    values += scan.flaw == Flaw::none || !has_no_value(scan);
    late += scan.flaw == Flaw::late;
  }
  CHECK(values == 0);
  CHECK(late == 1000);
  CHECK(bench.peer.connections() == 1000);  // The first late answer closed the first connection.
  const Scan mended = bench.ask(registers(7));
  CHECK(right(mended, registers(7)));
}

TEST_CASE("an answer that comes after its time is lost with its connection", "[fault-3][fault-12]") {
  HandClock* clock = nullptr;
  Bench bench{{[&clock](PeerTurn& turn) {
    clock->advance(patience + milliseconds(1));
    turn.wait_for_close();
    turn.answer();
  }}};
  clock = &bench.clock;
  const Scan scan = bench.ask(registers(100));
  CHECK(scan.flaw == Flaw::no_answer);
  CHECK(has_no_value(scan));
  for (int i = 0; i < 20; ++i) REQUIRE(right(bench.ask(registers(i)), registers(i)));
  CHECK(bench.peer.connections() == 2);
  CHECK(bench.peer.unasked_bytes() == 0);
}

TEST_CASE("a whole answer read after the deadline is not taken", "[fault-3]") {
  HandClock* clock = nullptr;
  Bench bench{{[&clock](PeerTurn& turn) {
    clock->advance(patience * 2);
    turn.answer();
    turn.wait_for_close();
  }}};
  clock = &bench.clock;
  const Scan scan = bench.ask(registers(100));
  CHECK(scan.flaw == Flaw::no_answer);
  CHECK(has_no_value(scan));
}

TEST_CASE("an answer of another unit is foreign", "[fault-4]") {
  check_refused([](FrameBytes& answer) { set(answer, 6, 2); }, Flaw::foreign);
}

TEST_CASE("an answer of another protocol is foreign", "[fault-4]") {
  check_refused([](FrameBytes& answer) { set(answer, 3, 1); }, Flaw::foreign);
  check_refused([](FrameBytes& answer) { set(answer, 2, 1); }, Flaw::foreign);
}

TEST_CASE("an answer with a transaction number of the future is foreign", "[fault-3]") {
  check_refused([](FrameBytes& answer) { set(answer, 1, answer[1] + 1); }, Flaw::foreign);
}

TEST_CASE("an answer to another function is foreign", "[fault-4]") {
  check_refused([](FrameBytes& answer) { set(answer, 7, 4); }, Flaw::foreign);
  check_refused([](FrameBytes& answer) { answer = {answer[0], answer[1], 0, 0, 0, 3, 1, 0x84, 2}; }, Flaw::foreign);
}

TEST_CASE("an answer whose length field lies is malformed", "[fault-4]") {
  for (const int length : {0, 1, 2, 4, 6, 8, 254, 255})
    check_refused([length](FrameBytes& answer) { set(answer, 5, length); }, Flaw::malformed);
  check_refused([](FrameBytes& answer) { set(answer, 4, 1); }, Flaw::malformed);
}

TEST_CASE("an answer with fewer or more registers than asked is malformed", "[fault-4]") {
  check_refused([](FrameBytes& answer) { answer.resize(11); set(answer, 5, 5); set(answer, 8, 2); }, Flaw::malformed);
  check_refused([](FrameBytes& answer) { answer.resize(15); set(answer, 5, 9); set(answer, 8, 6); }, Flaw::malformed);
  check_refused([](FrameBytes& answer) { set(answer, 8, 6); }, Flaw::malformed);
}

TEST_CASE("an answer with garbage behind it is malformed", "[fault-6]") {
  check_refused([](FrameBytes& answer) { answer.push_back(0); }, Flaw::malformed);
  check_refused([](FrameBytes& answer) { answer.insert(answer.end(), answer.begin(), answer.end()); }, Flaw::malformed);
  check_refused([](FrameBytes& answer) { answer.resize(4000); }, Flaw::malformed);
}

TEST_CASE("what lies in the socket before a question is never its answer", "[fault-6]") {
  // It would be a perfect answer to the next question, had that been asked.
  std::latch first_taken{1}, garbage_there{1};
  Bench bench{{[&](PeerTurn& turn) {
    turn.answer();
    first_taken.wait();
    FrameBytes next = turn.right_answer;
    set(next, 1, next[1] + 1);
    turn.send_and_see_received(next);
    garbage_there.count_down();
  }}};
  const Scan first = bench.ask(registers(100));
  first_taken.count_down();
  garbage_there.wait();
  const Scan second = bench.ask(registers(200));
  CHECK(right(first, registers(100)));
  CHECK(second.flaw == Flaw::malformed);
  CHECK(has_no_value(second));
  CHECK(bench.peer.wait_for_closes(1));
  CHECK(right(bench.ask(registers(300)), registers(300)));
  CHECK(bench.peer.requests().size() == 2);
}

TEST_CASE("an answer that comes in drops ends at the deadline", "[fault-5]") {
  HandClock* clock = nullptr;
  Bench bench{{[&clock](PeerTurn& turn) {
    // One byte every 0.4 s, for as long as anybody listens.
    for (std::size_t i = 0; turn.send({turn.right_answer[i % turn.right_answer.size()]}); ++i)
      clock->advance(milliseconds(400));
    turn.wait_for_close();
  }}};
  clock = &bench.clock;
  const Scan scan = bench.ask(registers(0, 125));
  CHECK((scan.flaw == Flaw::malformed || scan.flaw == Flaw::no_answer));
  CHECK(has_no_value(scan));
  REQUIRE(bench.peer.wait_for_closes(1));
  CHECK(right(bench.ask(registers(5)), registers(5)));
}

TEST_CASE("an answer in pieces that is whole in time is taken") {
  Bench bench{{[](PeerTurn& turn) {
    for (const std::uint8_t byte : turn.right_answer) turn.send({byte});
  }}};
  CHECK(right(bench.ask(registers(0, 125)), registers(0, 125)));
}

TEST_CASE("an exception is told apart and leaves the connection alone", "[fault-8]") {
  const std::vector<std::pair<int, Flaw>> table{
      {1, Flaw::exception_refused}, {2, Flaw::exception_refused}, {3, Flaw::exception_refused},
      {4, Flaw::exception_failed},  {5, Flaw::exception_busy},    {6, Flaw::exception_busy},
      {7, Flaw::exception_failed},  {8, Flaw::exception_failed},  {9, Flaw::exception_failed},
      {10, Flaw::exception_gateway}, {11, Flaw::exception_gateway}, {99, Flaw::exception_failed}};
  Bench bench;
  for (const auto& [code, flaw] : table) {
    bench.peer.then([code = code](PeerTurn& turn) {
      turn.send({turn.request[0], turn.request[1], 0, 0, 0, 3, 1, 0x83, static_cast<std::uint8_t>(code)});
    });
    const Scan scan = bench.ask(registers(0));
    CHECK(scan.flaw == flaw);
    CHECK(has_no_value(scan));
  }
  CHECK(right(bench.ask(registers(1)), registers(1)));
  CHECK(bench.peer.connections() == 1);
}

TEST_CASE("silence is no answer, and each question is asked once", "[fault-12]") {
  HandClock* clock = nullptr;
  const ScriptedPeer::Behaviour silent = [&clock](PeerTurn& turn) {
    clock->advance(patience);
    turn.wait_for_close();
  };
  Bench bench{{silent, silent, silent, silent, silent}};
  clock = &bench.clock;
  for (int i = 0; i < 5; ++i) CHECK(bench.ask(registers(i)).flaw == Flaw::no_answer);
  CHECK(right(bench.ask(registers(9)), registers(9)));
  CHECK(bench.peer.requests().size() == 6);
  CHECK(bench.peer.connections() == 6);
  CHECK(bench.peer.unasked_bytes() == 0);
}

TEST_CASE("a connection closed in the middle of an answer gives no value", "[fault-12]") {
  for (const std::size_t part : {0u, 1u, 6u, 8u, 12u}) {
    Bench bench{{[part](PeerTurn& turn) {
      if (part > 0) turn.send({turn.right_answer.begin(), turn.right_answer.begin() + static_cast<std::ptrdiff_t>(part)});
      turn.hang_up();
    }}};
    const Scan scan = bench.ask(registers(100));
    CHECK(scan.flaw == (part == 0 ? Flaw::not_connected : Flaw::malformed));
    CHECK(has_no_value(scan));
    CHECK(right(bench.ask(registers(2)), registers(2)));
  }
}

TEST_CASE("an instrument that hangs up between two questions is asked on a new connection at once", "[fault-12]") {
  std::latch taken{1}, hung_up{1};
  Bench bench{{[&](PeerTurn& turn) {
    turn.answer();
    taken.wait();
    turn.hang_up();
    hung_up.count_down();
  }}};
  CHECK(right(bench.ask(registers(1)), registers(1)));
  taken.count_down();
  hung_up.wait();
  CHECK(right(bench.ask(registers(2)), registers(2)));
  CHECK(bench.peer.connections() == 2);
  CHECK(bench.peer.requests().size() == 2);
}

TEST_CASE("a question on which the instrument hangs up is lost, and not asked twice", "[fault-12]") {
  Bench bench{{[](PeerTurn& turn) { turn.hang_up(); }}};
  CHECK(bench.ask(registers(1)).flaw == Flaw::not_connected);
  CHECK(bench.peer.requests().size() == 1);
  CHECK(right(bench.ask(registers(2)), registers(2)));
}

TEST_CASE("a gateway that has forgotten the connection costs at most one question", "[fault-12]") {
  Bench bench{{[](PeerTurn& turn) { turn.answer(); turn.reset(); }}};
  CHECK(bench.ask(registers(1)).block == BlockId{3});  // With its value, or torn away with the connection.
  Scan scan = bench.ask(registers(2));
  if (scan.flaw != Flaw::none) scan = bench.ask(registers(2));
  CHECK(right(scan, registers(2)));
  CHECK(bench.peer.connections() == 2);
}
