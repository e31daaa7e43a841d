// Instruments on a serial line that answer late, wrongly, too much, too little, or not at all. What ends a test is what was
// said on the line, never a time.
#include <catch2/catch.hpp>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <memory>

#include "drivers/boot_clock.hpp"
#include "drivers/modbus_bus.hpp"
#include "drivers/modbus_identity.hpp"
#include "drivers/modbus_rtu.hpp"
#include "tests/support/rtu_peer.hpp"

using namespace standfast;

namespace {

const BootClock boot_clock;
constexpr Duration patience = seconds(20), impatience = milliseconds(30);

Block registers(int start, int count = 2, int unit_id = 1) {
  Block block;
  block.unit_id = unit_id;
  block.table = Table::holding_register;
  block.start = start;
  block.count = count;
  return block;
}

struct Bench {
  RtuPeer peer;
  std::shared_ptr<ModbusRtuLine> line;
  ModbusBus bus;

  explicit Bench(std::vector<RtuPeer::Behaviour> script = {}, std::vector<UnitStatement> units = {}, Duration slowest = milliseconds(2))
      : peer{std::move(script)},
        line{std::make_shared<ModbusRtuLine>(address(slowest), units, boot_clock)},
        bus{connection(units), boot_clock} {}
  ModbusRtu address(Duration slowest) const {
    ModbusRtu where = peer.address();
    where.slowest_answer = slowest;
    return where;
  }
  std::unique_ptr<ModbusConnection> connection(const std::vector<UnitStatement>& units) const {
    return std::make_unique<ModbusIdentity>(std::make_unique<ModbusRtuConnection>(line, ModbusRtuLine::Rank::instruments), units);
  }
  Scan ask(const Block& block, Duration for_so_long = patience) {
    return bus.ask(BlockId{3}, block, boot_clock.now() + for_so_long);
  }
  std::vector<int> functions_since(std::size_t first) const {
    std::vector<int> functions;
    const auto requests = peer.requests();
    for (std::size_t i = first; i < requests.size(); ++i) functions.push_back(requests[i][1]);
    return functions;
  }
};

bool right(const Scan& scan, const Block& block) {
  const Words* words = std::get_if<Words>(&scan.raw);
  if (scan.flaw != Flaw::none || !words || words->size() != static_cast<std::size_t>(block.count)) return false;
  for (int i = 0; i < block.count; ++i)
    if ((*words)[static_cast<std::size_t>(i)] != static_cast<std::uint16_t>((block.start + i) * 257 + 3)) return false;
  return true;
}

bool has_no_value(const Scan& scan) { return std::get<Words>(scan.raw).empty(); }

// A frame that one thread keeps for another.
class Kept {
 public:
  void set(const FrameBytes& frame) {
    const std::lock_guard lock{mutex_};
    frame_ = frame;
  }
  FrameBytes wait() const {
    while (get().empty()) std::this_thread::yield();
    return get();
  }
  FrameBytes get() const {
    const std::lock_guard lock{mutex_};
    return frame_;
  }

 private:
  mutable std::mutex mutex_;
  FrameBytes frame_;
};

RtuPeer::Behaviour answering(const std::function<void(FrameBytes&)>& change) {
  return [change](RtuTurn& turn) {
    FrameBytes answer = turn.right_answer;
    change(answer);
    turn.send(answer);
  };
}
FrameBytes without_checksum(const FrameBytes& frame) { return {frame.begin(), frame.end() - 2}; }

// One such answer: no value, this flaw, then a proof, and the next answer good.
void check_refused(const RtuPeer::Behaviour& behaviour, Flaw flaw, Duration for_so_long = patience) {
  Bench bench;
  REQUIRE(right(bench.ask(registers(100)), registers(100)));
  const std::size_t before = bench.peer.requests().size();
  bench.peer.then(behaviour);
  const Scan scan = bench.ask(registers(200), for_so_long);
  CHECK(scan.flaw == flaw);
  CHECK(has_no_value(scan));
  CHECK(right(bench.ask(registers(300)), registers(300)));
  CHECK(bench.functions_since(before) == std::vector<int>{3, 8, 3});
}

}  // namespace

TEST_CASE("an honest instrument on a serial line is read, and proves itself once") {
  Bench bench;
  for (int i = 0; i < 30; ++i) REQUIRE(right(bench.ask(registers(i * 3, 1 + i)), registers(i * 3, 1 + i)));
  const auto functions = bench.functions_since(0);
  CHECK(functions.front() == 8);
  CHECK(std::count(functions.begin(), functions.end(), 8) == 1);
}

TEST_CASE("all four tables are read over a serial line") {
  Bench bench;
  Block block = registers(8, 4);
  block.table = Table::input_register;
  CHECK(std::get<Words>(bench.ask(block).raw) == Words{8 * 263 + 5, 9 * 263 + 5, 10 * 263 + 5, 11 * 263 + 5});
  block.table = Table::coil;
  CHECK(std::get<Bits>(bench.ask(block).raw) == Bits{0, 1, 0, 0});
  block.table = Table::discrete_input;
  CHECK(std::get<Bits>(bench.ask(block).raw) == Bits{0, 0, 1, 0});
}

TEST_CASE("an answer that comes after its time is thrown away in the quiet behind it, and the next is proved", "[fault-1]") {
  Kept late;
  Bench bench{{}, {}, milliseconds(200)};
  REQUIRE(right(bench.ask(registers(1)), registers(1)));
  bench.peer.then([&late](RtuTurn& turn) { late.set(turn.right_answer); });
  const std::size_t before = bench.peer.requests().size();
  const Scan missed = bench.ask(registers(100), impatience);
  CHECK(missed.flaw == Flaw::no_answer);
  CHECK(has_no_value(missed));
  CHECK(bench.bus.free_at() > boot_clock.now());
  RtuTurn{{}, late.wait(), bench.peer.line().end()}.answer();
  CHECK(right(bench.ask(registers(200)), registers(200)));
  CHECK(bench.functions_since(before) == std::vector<int>{3, 8, 3});
}

TEST_CASE("an instrument that is slower than its stated slowest answer gives no value, whatever it says", "[fault-1][fault-2]") {
  Kept late;
  Bench bench;
  REQUIRE(right(bench.ask(registers(1)), registers(1)));
  bench.peer.then([&late](RtuTurn& turn) { late.set(turn.right_answer); });
  bench.peer.then([&late](RtuTurn& turn) { turn.send(late.get()); });
  CHECK(bench.ask(registers(100), impatience).flaw == Flaw::no_answer);
  const Scan confused = bench.ask(registers(200));
  CHECK(confused.flaw == Flaw::malformed);  // Of our unit, but no answer to what was asked.
  CHECK(has_no_value(confused));
  CHECK(right(bench.ask(registers(200)), registers(200)));
}

TEST_CASE("a peer on a serial line that is late by one answer for 1000 requests gives no wrong value", "[fault-1]") {
  for (const bool knows_echo : {true, false}) {
    Kept earlier;
    Bench bench{{}, {}, microseconds(100)};
    bench.peer.echoes(knows_echo);
    REQUIRE(right(bench.ask(registers(1)), registers(1)));
    bench.peer.whenever([&earlier](RtuTurn& turn) {
      if (const FrameBytes owed = earlier.get(); !owed.empty()) turn.send(owed);
      earlier.set(turn.right_answer);
    });
    const std::size_t before = bench.peer.requests().size();
    int values = 0;
    for (int i = 0; bench.peer.requests().size() < before + 1000; ++i)
      values += !has_no_value(bench.ask(registers(i % 900), earlier.get().empty() ? impatience : patience));
    CHECK(values == 0);
    bench.peer.whenever({});
    bool mended = false;  // What it owed may cost one more question.
    for (int i = 0; i < 3 && !mended; ++i) mended = right(bench.ask(registers(7)), registers(7));
    CHECK(mended);
  }
}

TEST_CASE("an instrument that ignores the question of another kind is proved by another count", "[fault-1]") {
  Bench bench;
  const RtuPeer::Behaviour no_echo = [](RtuTurn& turn) {
    if (turn.request[1] != 8) turn.answer();
  };
  bench.peer.whenever(no_echo);
  CHECK(bench.ask(registers(10), impatience).flaw == Flaw::no_answer);
  CHECK(right(bench.ask(registers(10)), registers(10)));
  const auto requests = bench.peer.requests();
  REQUIRE(requests.size() == 3);
  CHECK(without_checksum(requests[1]) == FrameBytes{1, 3, 0, 10, 0, 3});
  CHECK(without_checksum(requests[2]) == FrameBytes{1, 3, 0, 10, 0, 2});
}

TEST_CASE("another count has an answer of another length, at every end of a table", "[fault-1]") {
  const auto check = [](Table table, int start, int count) {
    const ModbusRequest asked = read_request({1, table, start}, count), other = another_shape(asked);
    CHECK(table_read_by(other.pdu()) == table);
    CHECK(right_answer_bytes(other.pdu()) != right_answer_bytes(asked.pdu()));
  };
  for (const auto& [start, count] : {std::pair{0, 1}, {0, 125}, {65535, 1}, {65411, 125}, {65534, 2}})
    check(Table::input_register, start, count);
  for (const auto& [start, count] : {std::pair{0, 1}, {0, 2000}, {65535, 1}, {63536, 2000}, {65528, 8}}) check(Table::coil, start, count);
  const Bits bits(3);
  CHECK(table_read_by(another_shape(write_coils({1, Table::coil, 5}, bits)).pdu()) == Table::coil);
  CHECK(table_read_by(another_shape(write_register({1, Table::holding_register, 65535}, 7)).pdu()) == Table::holding_register);
}

TEST_CASE("a silent instrument rests from its third silence on four times what it costs, then twice as long each time, at most 10 s",
          "[fault-2]") {
  const Duration cost = milliseconds(300);
  CHECK(rest_after(1, cost) == Duration{});
  CHECK(rest_after(2, cost) == Duration{});
  CHECK(rest_after(3, cost) == milliseconds(1200));
  CHECK(rest_after(4, cost) == milliseconds(2400));
  CHECK(rest_after(5, cost) == milliseconds(4800));
  CHECK(rest_after(20, cost) == seconds(10));
  CHECK(rest_after(3, seconds(5)) == seconds(10));
}

TEST_CASE("a silent instrument is not asked while it rests, its neighbours go on, and once it speaks it is asked each time", "[fault-2]") {
  Bench bench{{}, {{5, milliseconds(300), std::nullopt}}};
  bench.peer.whenever([](RtuTurn& turn) {
    if (turn.request[0] != 5) turn.answer();
  });
  for (int i = 0; i < 3; ++i) CHECK(bench.ask(registers(1, 2, 5), i == 0 ? impatience : milliseconds(330)).flaw == Flaw::no_answer);
  const std::size_t before = bench.peer.requests().size();
  CHECK(bench.ask(registers(1, 2, 5)).flaw == Flaw::no_answer);  // Told at once, and nothing is sent.
  CHECK(bench.peer.requests().size() == before);
  CHECK(right(bench.ask(registers(1, 2, 4)), registers(1, 2, 4)));
  bench.peer.whenever({});
  while (!right(bench.ask(registers(1, 2, 5)), registers(1, 2, 5))) {}
  for (int i = 0; i < 5; ++i) CHECK(right(bench.ask(registers(i, 2, 5)), registers(i, 2, 5)));
}

TEST_CASE("an answer on a serial line that comes in drops ends at the deadline", "[fault-5]") {
  Bench bench;
  REQUIRE(right(bench.ask(registers(1)), registers(1)));
  std::atomic<bool> over{false};
  bench.peer.then([&over](RtuTurn& turn) {
    for (std::size_t i = 0; !over; i = (i + 1) % 3) {
      turn.send({turn.right_answer[i]});
      ::usleep(4000);
    }
  });
  const Scan scan = bench.ask(registers(0, 125), impatience);
  over = true;
  CHECK(scan.flaw == Flaw::garbled);
  CHECK(has_no_value(scan));
  while (!right(bench.ask(registers(5)), registers(5))) {}
}

TEST_CASE("an answer on a serial line in pieces that is whole in time is taken") {
  Bench bench{{{}, [](RtuTurn& turn) {
                 for (const std::uint8_t byte : turn.right_answer) turn.send({byte});
               }}};
  CHECK(right(bench.ask(registers(0, 125)), registers(0, 125)));
}

TEST_CASE("an answer with a wrong checksum is garbled", "[fault-7]") {
  check_refused(answering([](FrameBytes& answer) { answer[4] ^= 0x10; }), Flaw::garbled);
  check_refused(answering([](FrameBytes& answer) { std::swap(answer[answer.size() - 1], answer[answer.size() - 2]); }), Flaw::garbled);
}

TEST_CASE("an answer that is cut short is garbled", "[fault-7]") {
  for (const std::size_t size : {1u, 2u, 4u, 8u})
    check_refused(answering([size](FrameBytes& answer) { answer.resize(size); }), Flaw::garbled, impatience);
}

TEST_CASE("an answer of another unit on the line is foreign", "[fault-7]") {
  check_refused(answering([](FrameBytes& answer) {
                  answer[0] = 2;
                  answer = with_checksum(without_checksum(answer));
                }), Flaw::foreign);
  // Shorter than ours would be, so that it ends in silence.
  check_refused(answering([](FrameBytes& answer) { answer = with_checksum({2, 3, 2, 0, 7}); }), Flaw::foreign, impatience);
}

TEST_CASE("an answer to another function, or of another length, is refused", "[fault-7]") {
  check_refused(answering([](FrameBytes& answer) {
                  answer[1] = 4;
                  answer = with_checksum(without_checksum(answer));
                }), Flaw::foreign);
  check_refused(answering([](FrameBytes& answer) { answer = with_checksum({1, 3, 2, 0, 7}); }), Flaw::malformed, impatience);
  check_refused(answering([](FrameBytes& answer) { answer = with_checksum({1, 3, 6, 0, 7, 0, 7, 0, 7}); }), Flaw::malformed);
}

TEST_CASE("the echo of our own question is no answer", "[fault-7]") {
  check_refused([](RtuTurn& turn) { turn.send(turn.request); }, Flaw::malformed);
}

TEST_CASE("bytes behind an answer, before the silence that ends it, make it malformed", "[fault-6]") {
  check_refused(answering([](FrameBytes& answer) { answer.push_back(0); }), Flaw::malformed);
  check_refused(answering([](FrameBytes& answer) { answer.insert(answer.end(), answer.begin(), answer.end()); }), Flaw::malformed);
}

TEST_CASE("what lies in the line before a question is thrown away, and the answer proved", "[fault-6]") {
  Bench bench;
  REQUIRE(right(bench.ask(registers(1)), registers(1)));
  const std::size_t before = bench.peer.requests().size();
  RtuTurn{{}, with_checksum({1, 3, 4, 9, 9, 9, 9}), bench.peer.line().end()}.answer();
  CHECK(right(bench.ask(registers(100)), registers(100)));
  CHECK(bench.functions_since(before) == std::vector<int>{8, 3});
}

TEST_CASE("an exception on a serial line is told apart and leaves the trust alone", "[fault-8]") {
  const std::vector<std::pair<int, Flaw>> table{
      {1, Flaw::exception_refused}, {2, Flaw::exception_refused}, {3, Flaw::exception_refused},
      {4, Flaw::exception_failed},  {5, Flaw::exception_busy},    {6, Flaw::exception_busy},
      {8, Flaw::exception_failed},  {9, Flaw::exception_failed},  {10, Flaw::exception_gateway},
      {11, Flaw::exception_gateway}, {99, Flaw::exception_failed}};
  Bench bench;
  REQUIRE(right(bench.ask(registers(1)), registers(1)));
  for (const auto& [code, flaw] : table) {
    bench.peer.then([code = code](RtuTurn& turn) { turn.send(with_checksum({1, 0x83, static_cast<std::uint8_t>(code)})); });
    const Scan scan = bench.ask(registers(0));
    CHECK(scan.flaw == flaw);
    CHECK(has_no_value(scan));
  }
  CHECK(right(bench.ask(registers(1)), registers(1)));
  const auto functions = bench.functions_since(0);
  CHECK(std::count(functions.begin(), functions.end(), 8) == 1);
}
