// Instruments that speak lines of text and are asked: late, garbled, too much, too little, or not at all. What ends a test is
// what was said on the line, never a time.
#include <catch2/catch.hpp>
#include <poll.h>
#include <termios.h>
#include <unistd.h>

#include <atomic>

#include "config/line_time.hpp"
#include "drivers/boot_clock.hpp"
#include "drivers/make_driver.hpp"
#include "drivers/serial_lines.hpp"
#include "tests/support/hand_clock.hpp"
#include "tests/support/line_peer.hpp"
#include "tests/support/many_open_files.hpp"

using namespace standfast;

namespace {

const BootClock boot_clock;
// A line that never ends is waited for as long as there is time: long enough for the peer to have said it.
constexpr Duration patience = seconds(20), impatience = milliseconds(30), long_enough = milliseconds(400);

Scan scan_of(Driver& bus, Duration for_so_long = patience) {
  return bus.ask(BlockId{3}, Block{}, boot_clock.now() + for_so_long);
}

Flaw flaw_of(Driver& bus, Duration for_so_long = patience) { return scan_of(bus, for_so_long).flaw; }

struct Bench {
  LinePeer peer;
  SerialLineBus bus;

  explicit Bench(const std::function<void(SerialLines&)>& change = [](SerialLines&) {}) : bus{wire(change), boot_clock} {}
  SerialLines wire(const std::function<void(SerialLines&)>& change) const {
    SerialLines wire = peer.address();
    change(wire);
    return wire;
  }
  std::string text() { return std::get<std::string>(scan_of(bus).raw); }
};

// All that was asked since the last look, told from what is still under way by a mark of our own behind it.
std::string asked_on(const PseudoLine& line) {
  REQUIRE(::write(line.device_end(), "!", 1) == 1);
  std::string asked;
  while (!asked.ends_with('!')) {
    pollfd wait{line.end(), POLLIN, 0};
    REQUIRE(::poll(&wait, 1, 60'000) == 1);
    char byte = 0;
    REQUIRE(::read(line.end(), &byte, 1) == 1);
    asked += byte;
  }
  asked.pop_back();
  return asked;
}

// One such answer: this flaw, and the next answer good.
void check_refused(const std::string& said, Flaw flaw, Duration for_so_long = patience) {
  INFO(said);
  Bench bench{[](SerialLines& wire) { wire.checksum = Checksum::xor8; }};
  bench.peer.answers("D1.250 mm4C\r\n");
  REQUIRE(bench.text() == "D1.250 mm4C");
  bench.peer.then_say(said);
  CHECK(flaw_of(bench.bus, for_so_long) == flaw);
  const Scan next = scan_of(bench.bus);
  CHECK(next.flaw == Flaw::none);
  CHECK(std::get<std::string>(next.raw) == "D1.250 mm4C");
}

}  // namespace

TEST_CASE("an honest instrument is asked and its line comes whole, with CR, LF or both at its end") {
  Bench bench;
  for (const char* said : {"D1.250 mm\r\n", "D1.251 mm\r", "D1.252 mm\n", "\r\nD1.253 mm\r\n"}) {
    bench.peer.answers(said);
    const Scan scan = scan_of(bench.bus);
    CHECK(scan.flaw == Flaw::none);
    CHECK(scan.block == BlockId{3});
    CHECK(std::get<std::string>(scan.raw) == std::string{said}.substr(said[0] == 'D' ? 0 : 2, 9));
  }
  CHECK(bench.peer.questions() == 4);
}

TEST_CASE("the wire that rig.yaml calls serial_lines has its driver") {
  LinePeer peer;
  SharedLines lines;
  const Bus bus{"dial", peer.address(), milliseconds(200), {}, {}};
  const auto driver = make_driver(bus, boot_clock, lines);
  REQUIRE(driver);
  CHECK(flaw_of(**driver) == Flaw::none);
}

TEST_CASE("a garbled line is thrown away, and the next one is fine", "[fault-17]") {
  check_refused("D1.250 mm4D\r\n", Flaw::garbled);                          // Wrong checksum.
  check_refused("D1.250 mm\r\n", Flaw::garbled);                            // None.
  check_refused(std::string("D1.2\0" "50 mm4C\r\n", 14), Flaw::garbled);    // NUL.
  check_refused("D1.2\xFF" "50 mmB3\r\n", Flaw::garbled);
  check_refused("D1.250 \xB5m94\r\n", Flaw::garbled);                       // Not ASCII, like the one before; their checksums are right.
  check_refused("D1.250 mm4CD1.250 mm4C\r\n", Flaw::garbled);                 // Two lines merged.
  check_refused(std::string(5000, '9') + "\r\n", Flaw::garbled);            // Too long: more than the kernel keeps.
  check_refused(std::string(257, '9') + "74\r\n", Flaw::garbled);
}

TEST_CASE("a line without its end is no answer, however long it is", "[fault-17]") {
  check_refused("D1.250 mm4C", Flaw::malformed, long_enough);
  check_refused(std::string(300, '9'), Flaw::garbled, long_enough);
}

TEST_CASE("more than one line to one question is no answer", "[fault-17]") {
  check_refused("D1.250 mm4C\r\nD1.250 mm4C\r\n", Flaw::malformed);
  check_refused("D1.250 mm4C\r\nD1.2", Flaw::malformed);
}

TEST_CASE("what is clean and not the stated line comes as it is, for the core to refuse", "[fault-18]") {
  Bench bench;
  for (const std::string said : {"D1,250 mm", "D0.049 in", "D1.250 mm;0.0", "OL", "hello"}) {
    bench.peer.answers(said + "\r");
    CHECK(bench.text() == said);
  }
}

TEST_CASE("silence is told, and an answer that comes while the line is kept quiet is no answer to the next question") {
  Bench bench{[](SerialLines& wire) { wire.slowest_answer = milliseconds(300); }};
  REQUIRE(flaw_of(bench.bus) == Flaw::none);
  bench.peer.then([](LinePeer&) {});
  CHECK(flaw_of(bench.bus, impatience) == Flaw::no_answer);
  bench.peer.say("D9.999 mm\r\n");
  bench.peer.answers("D1.251 mm\r\n");
  CHECK(bench.text() == "D1.251 mm");
}

TEST_CASE("a dial that stays silent is asked again only when its slowest answer to the last question can no longer come", "[fault-1]") {
  const PseudoLine line;
  HandClock clock;
  SerialLines wire;
  wire.serial.device = line.device();
  wire.serial.baud = 9600;
  wire.ask = "?\r";
  wire.answer = "D{value} mm";
  wire.slowest_answer = seconds(5);
  SerialLineBus bus{wire, clock};
  const auto ask = [&] { return bus.ask(BlockId{3}, Block{}, clock.now()).flaw; };
  CHECK(ask() == Flaw::no_answer);  // Opened: somebody else may have asked before.
  CHECK(asked_on(line) == "");
  clock.advance(wire.slowest_answer);
  CHECK(ask() == Flaw::no_answer);
  CHECK(asked_on(line) == "?\r");
  const Duration quiet = line_time(wire.serial, wire.ask.size()) + wire.slowest_answer;
  CHECK(bus.free_at() == clock.now() + quiet);
  for (const Duration short_of_it : {quiet - nanoseconds(1), nanoseconds(1)}) {
    CHECK(ask() == Flaw::no_answer);
    CHECK(asked_on(line) == "");
    clock.advance(short_of_it);
  }
  CHECK(ask() == Flaw::no_answer);
  CHECK(asked_on(line) == "?\r");
}

TEST_CASE("nothing is asked while the line is kept quiet") {
  Bench bench{[](SerialLines& wire) { wire.slowest_answer = seconds(5); }};
  CHECK(flaw_of(bench.bus, impatience) == Flaw::no_answer);  // Somebody else may have asked before it was opened.
  CHECK(flaw_of(bench.bus, impatience) == Flaw::no_answer);
  CHECK(bench.peer.questions() == 0);
}

TEST_CASE("what comes without a question makes the line quiet and is never an answer", "[fault-6]") {
  Bench bench;
  REQUIRE(flaw_of(bench.bus) == Flaw::none);
  bench.peer.say("D9.999 mm\r\n");
  CHECK(flaw_of(bench.bus) == Flaw::malformed);
  CHECK(bench.peer.questions() == 1);
  CHECK(bench.text() == "D1.250 mm");
}

TEST_CASE("ends of lines that trail behind are no answer and no flaw") {
  Bench bench;
  bench.peer.answers("D1.250 mm\r");
  for (int i = 0; i < 3; ++i) {
    REQUIRE(flaw_of(bench.bus) == Flaw::none);
    bench.peer.say("\n");
  }
}

TEST_CASE("an echo of the question is no answer", "[fault-7]") {
  Bench bench;
  REQUIRE(flaw_of(bench.bus) == Flaw::none);
  bench.peer.then_say("?\rD1.250 mm\r\n");
  CHECK(flaw_of(bench.bus) == Flaw::malformed);
  CHECK(bench.text() == "D1.250 mm");
}

TEST_CASE("half a line at the opening is thrown away", "[fault-17]") {
  Bench bench;
  bench.peer.say("50 mm\r\nD9.999 mm\r\nD9.");
  CHECK(bench.text() == "D1.250 mm");
}

TEST_CASE("another baud rate or parity is told as garbled", "[fault-19]") {
  Bench bench;
  REQUIRE(flaw_of(bench.bus) == Flaw::none);
  bench.peer.answers(std::string("\xF8\x00\xFF\x80\x1C", 5));
  for (int i = 0; i < 3; ++i) CHECK(flaw_of(bench.bus, long_enough) == Flaw::garbled);
  bench.peer.answers("D1.250 mm\r");
  CHECK(flaw_of(bench.bus) == Flaw::none);
}

TEST_CASE("the line is set as stated, and a character of wrong parity is not passed over", "[fault-19]") {
  LinePeer peer;
  SerialLines wire = peer.address();
  wire.serial.baud = 4800;
  wire.serial.parity = Parity::odd;
  wire.serial.stop_bits = 2;
  SerialLineBus bus{wire, boot_clock};
  REQUIRE(flaw_of(bus) == Flaw::none);
  termios settings{};
  REQUIRE(tcgetattr(peer.line().device_end(), &settings) == 0);
  CHECK(cfgetispeed(&settings) == B4800);
  CHECK((settings.c_cflag & PARODD) != 0);
  CHECK((settings.c_cflag & CSTOPB) != 0);
  CHECK((settings.c_cflag & CRTSCTS) == 0);
  CHECK((settings.c_iflag & INPCK) != 0);
  CHECK((settings.c_iflag & (IGNPAR | IXON | IXOFF | ICRNL | INLCR | ISTRIP)) == 0);
  CHECK((settings.c_lflag & (ICANON | ECHO)) == 0);
  CHECK(settings.c_cc[VMIN] == 1);
  CHECK(settings.c_cc[VTIME] == 0);
}

TEST_CASE("a dial's converter that is pulled is noticed at the next question, and found again under its link", "[fault-9]") {
  Bench bench;
  REQUIRE(flaw_of(bench.bus) == Flaw::none);
  const std::string first = bench.peer.line().terminal();
  bench.peer.pull();
  CHECK(flaw_of(bench.bus) == Flaw::not_connected);
  CHECK(flaw_of(bench.bus) == Flaw::not_connected);
  const PseudoLine other;  // Takes the old number, so that the new terminal has another.
  bench.peer.plug_in();
  CHECK(bench.peer.line().terminal() != first);
  while (flaw_of(bench.bus) != Flaw::none) {}
  CHECK(bench.text() == "D1.250 mm");
}

TEST_CASE("a dial's converter that is pulled while an answer is waited for costs that answer and no more time", "[fault-9]") {
  Bench bench;
  REQUIRE(flaw_of(bench.bus) == Flaw::none);
  std::atomic<bool> asked{false};
  bench.peer.then([&asked](LinePeer&) { asked = true; });
  std::thread hand{[&] {
    while (!asked) std::this_thread::yield();
    bench.peer.pull();
  }};
  CHECK(flaw_of(bench.bus) == Flaw::not_connected);
  hand.join();
}

TEST_CASE("swapped dials are told where their lines begin with their names", "[fault-10]") {
  Bench bench{[](SerialLines& wire) { wire.answer = "N12 {value} mm"; wire.checksum = Checksum::none; }};
  bench.peer.answers("N13 1.250 mm\r\n");
  CHECK(flaw_of(bench.bus) == Flaw::none);  // It is a clean line; the core refuses it, for it is not the stated one.
  CHECK(bench.text() == "N13 1.250 mm");
}

TEST_CASE("a dial's line that cannot be opened is told with its device and the system's word for it", "[fault-9]") {
  LinePeer peer;
  SerialLineBus first{peer.address(), boot_clock}, second{peer.address(), boot_clock};
  const auto told = [](SerialLineBus& bus) {
    return std::get<std::string>(bus.ask(BlockId{0}, Block{}, boot_clock.now() + seconds(20)).raw);
  };
  const std::string device = peer.address().serial.device;
  REQUIRE(flaw_of(first) == Flaw::none);
  CHECK(told(second) == device + ": Device or resource busy");
  SerialLines nowhere = peer.address();
  nowhere.serial.device += "-of-nobody";
  SerialLineBus lost{nowhere, boot_clock};
  CHECK(told(lost) == device + "-of-nobody: No such file or directory");
  CHECK(told(first) == "D1.250 mm");
}

TEST_CASE("a dial's line that somebody else holds is refused, and taken when it is free", "[fault-11]") {
  LinePeer peer;
  auto first = std::make_unique<SerialLineBus>(peer.address(), boot_clock);
  SerialLineBus second{peer.address(), boot_clock};
  REQUIRE(flaw_of(*first) == Flaw::none);
  CHECK(flaw_of(second) == Flaw::line_in_use);
  CHECK(flaw_of(*first) == Flaw::none);
  first.reset();
  while (flaw_of(second) != Flaw::none) {}
}

TEST_CASE("settings of a dial's line that another program changed are set back and told", "[fault-11]") {
  Bench bench;
  REQUIRE(flaw_of(bench.bus) == Flaw::none);
  termios settings{}, changed{};
  REQUIRE(tcgetattr(bench.peer.line().device_end(), &settings) == 0);
  changed = settings;
  cfsetspeed(&changed, B4800);
  REQUIRE(tcsetattr(bench.peer.line().device_end(), TCSANOW, &changed) == 0);
  int asked = 0;
  while (asked < 100 && flaw_of(bench.bus) != Flaw::line_changed) ++asked;
  CHECK(asked < 40);
  CHECK(flaw_of(bench.bus) == Flaw::none);
  REQUIRE(tcgetattr(bench.peer.line().device_end(), &changed) == 0);
  CHECK(cfgetospeed(&changed) == cfgetospeed(&settings));
}

TEST_CASE("with 1200 open files a line of text is not opened", "[fault-20]") {
  LinePeer peer;
  SerialLineBus bus{peer.address(), boot_clock};
  {
    const ManyOpenFiles files{1200};
    CHECK(flaw_of(bus) == Flaw::not_connected);
  }
  while (flaw_of(bus) != Flaw::none) {}
}
