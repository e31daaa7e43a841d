// Instruments that speak lines of text by themselves: the newest counts, an old one never, half of one never. What ends a
// test is what was said on the line, never a time.
#include <catch2/catch.hpp>

#include <atomic>
#include <thread>

#include "drivers/boot_clock.hpp"
#include "drivers/serial_lines.hpp"
#include "tests/support/line_peer.hpp"

using namespace standfast;

namespace {

const BootClock boot_clock;
constexpr Duration patience = seconds(20), impatience = milliseconds(30);

struct Stream {
  LinePeer peer;
  const Clock& clock;
  SerialLineBus bus;

  explicit Stream(const Clock& by = boot_clock) : clock{by}, bus{wire(), by} {}
  SerialLines wire() const {
    SerialLines wire = peer.address();
    wire.ask.clear();
    return wire;
  }
  Scan scan(Duration for_so_long = patience) { return bus.ask(BlockId{3}, Block{}, clock.now() + for_so_long); }
  std::string text() { return std::get<std::string>(scan().raw); }
  void say(const std::string& text) { peer.say(text); }
  // The device is opened, and what comes next begins a line.
  void begin() {
    REQUIRE(scan(impatience).flaw == Flaw::no_answer);
    say("9.999 mm\r\n");
  }
  // The lines given until this one.
  std::vector<std::string> texts_until(const std::string& last) {
    std::vector<std::string> texts;
    while (texts.empty() || texts.back() != last) {
      const Scan next = scan();
      REQUIRE(next.flaw == Flaw::none);
      texts.push_back(std::get<std::string>(next.raw));
    }
    return texts;
  }
};

// Stands until it is moved, and knows how often other threads have looked at it: the listener does for each part that it reads.
class WatchedClock final : public Clock {
 public:
  Instant now() const override {
    if (std::this_thread::get_id() != mine_) ++looks_;
    return {ns_.load()};
  }
  void advance(Duration by) { ns_ += by.ns; }
  int looks() const { return looks_; }

 private:
  const std::thread::id mine_{std::this_thread::get_id()};
  std::atomic<std::int64_t> ns_{seconds(1000).ns};
  mutable std::atomic<int> looks_{0};
};

void say_and_wait(Stream& stream, const WatchedClock& clock, const std::string& text) {
  const int before = clock.looks();
  stream.say(text);
  while (clock.looks() == before) std::this_thread::yield();
}

}  // namespace

TEST_CASE("each line of one that speaks by itself is given once") {
  Stream stream;
  stream.begin();
  for (const std::string said : {"D1.250 mm", "D1.251 mm", "D1.251 mm"}) {
    stream.say(said + "\r\n");
    CHECK(stream.text() == said);
  }
  CHECK(stream.scan(impatience).flaw == Flaw::no_answer);
}

TEST_CASE("of several lines since the last poll the newest counts") {
  Stream stream;
  stream.begin();
  for (int i = 0; i < 100; ++i) stream.say("D" + std::to_string(i) + " mm\r\n");
  stream.say("D1.252 mm\r\nD1.2");
  CHECK(stream.texts_until("D1.252 mm").size() < 102);
  stream.say("53 mm\r\n");
  CHECK(stream.text() == "D1.253 mm");
}

TEST_CASE("half a line at the opening is no line", "[fault-17]") {
  Stream stream;
  CHECK(stream.scan(impatience).flaw == Flaw::no_answer);
  stream.say("D9.999 mm\r\n");  // Its beginning may have come before.
  CHECK(stream.scan(impatience).flaw == Flaw::no_answer);
  stream.say("D1.250 mm\r\n");
  CHECK(stream.text() == "D1.250 mm");
}

TEST_CASE("of lines that came between two polls only the newest is ever given") {
  WatchedClock clock;
  Stream stream{clock};
  CHECK(stream.scan({}).flaw == Flaw::no_answer);
  say_and_wait(stream, clock, "half\r\nD1.250 mm\r\n");
  say_and_wait(stream, clock, "D1.251 mm\r\n");
  CHECK(std::get<std::string>(stream.scan({}).raw) == "D1.251 mm");
  CHECK(stream.scan({}).flaw == Flaw::no_answer);
}

TEST_CASE("a line has the instant at which it came, and one that came long before the poll never counts") {
  WatchedClock clock;
  Stream stream{clock};
  CHECK(stream.scan({}).flaw == Flaw::no_answer);
  say_and_wait(stream, clock, "half\r\nD1.250 mm\r\n");
  clock.advance(milliseconds(500));
  const Scan scan = stream.scan({});
  CHECK(scan.flaw == Flaw::none);
  CHECK(scan.taken_at == clock.now() - milliseconds(500));
  say_and_wait(stream, clock, "D1.251 mm\r\n");
  clock.advance(milliseconds(501));
  CHECK(stream.scan({}).flaw == Flaw::no_answer);
  CHECK(stream.scan({}).flaw == Flaw::no_answer);
}

TEST_CASE("a line that came after a poll had ended is the next poll's") {
  WatchedClock clock;
  Stream stream{clock};
  CHECK(stream.scan({}).flaw == Flaw::no_answer);
  say_and_wait(stream, clock, "half\r\nD1.250 mm\r\n");
  CHECK(stream.scan(nanoseconds(-1)).flaw == Flaw::no_answer);
  CHECK(std::get<std::string>(stream.scan({}).raw) == "D1.250 mm");
}

TEST_CASE("a stream that stops is told, whatever it said before") {
  Stream stream;
  stream.begin();
  stream.say("D1.250 mm\r\n");
  CHECK(stream.text() == "D1.250 mm");
  for (int i = 0; i < 3; ++i) CHECK(stream.scan(impatience).flaw == Flaw::no_answer);
  stream.say("D1.2");
  CHECK(stream.scan(milliseconds(400)).flaw == Flaw::malformed);
}

TEST_CASE("a line in a stream that is too long or garbled is thrown away, and the next one is fine", "[fault-17]") {
  Stream stream;
  stream.begin();
  for (const std::string& bad : {std::string(5000, '9'), std::string("D1.2\0" "50 mm", 10), std::string("D1.250 \xFFm")}) {
    stream.say(bad + "\r\n");
    CHECK(stream.scan().flaw == Flaw::garbled);
    stream.say("D1.250 mm\r\n");
    CHECK(stream.text() == "D1.250 mm");
  }
}

TEST_CASE("a stream that is not asked for long keeps the new and drops the old", "[fault-17]") {
  WatchedClock clock;
  Stream stream{clock};
  CHECK(stream.scan({}).flaw == Flaw::no_answer);
  for (int i = 0; i < 200; ++i) say_and_wait(stream, clock, "D9.999 mm, and so much of it that the kernel alone would drop the new\r\n");
  say_and_wait(stream, clock, "D1.250 mm\r\n");
  CHECK(std::get<std::string>(stream.scan({}).raw) == "D1.250 mm");
}

TEST_CASE("the converter of a stream that is pulled is noticed at once, and found again under its link", "[fault-9]") {
  Stream stream;
  stream.begin();
  std::thread hand{[&] { stream.peer.pull(); }};
  CHECK(stream.scan().flaw == Flaw::not_connected);
  hand.join();
  stream.peer.plug_in();
  while (stream.scan(impatience).flaw == Flaw::not_connected) {}
  stream.say("half\r\nD1.250 mm\r\n");
  CHECK(stream.text() == "D1.250 mm");
}
