// The rig's end of serial lines without a line: frames, checksums, text, and the time that characters take.
#include "tests/rig/grain_store_plant.hpp"
#include "tools/rig/line_text.hpp"
#include "tools/rig/outbox.hpp"
#include "tools/rig/rtu_stream.hpp"

using namespace standfast;
using namespace standfast::rig;

namespace {

constexpr Duration silence = milliseconds(2);

SerialLines dial(Checksum checksum) {
  SerialLines wire;
  wire.ask = "?\r";
  wire.answer = "B {value} mm ";
  wire.checksum = checksum;
  wire.overload_words = {"OL"};
  return wire;
}

}  // namespace

TEST_CASE("the checksum of a serial Modbus frame is that of the published examples") {
  // Modbus reference guide, appendix on CRC generation: unit 2, function 7 gives 41 12 on the wire (from memory).
  CHECK(rtu_frame({2, {7}}) == Bytes{0x02, 0x07, 0x41, 0x12});
  // The check value of this CRC over the digits 1 to 9, as catalogues of CRCs give it (from memory).
  const Bytes digits{'1', '2', '3', '4', '5', '6', '7', '8', '9'};
  CHECK(rtu_crc(digits) == 0x4b37);
}

TEST_CASE("a serial request may come in pieces, and two may come at once") {
  RtuStream stream{silence};
  const Bytes one = rtu_frame({3, {4, 0, 20, 0, 2}}), two = rtu_frame({3, {15, 0, 0, 0, 3, 1, 5}});
  Instant now{};
  stream.add(std::span{one}.first(5), now);
  CHECK_FALSE(stream.next(now));
  Bytes rest{one.begin() + 5, one.end()};
  rest.insert(rest.end(), two.begin(), two.end());
  stream.add(rest, now + milliseconds(1));
  CHECK(stream.next(now + milliseconds(1))->pdu == Bytes{4, 0, 20, 0, 2});
  CHECK(stream.next(now + milliseconds(1))->pdu == Bytes{15, 0, 0, 0, 3, 1, 5});
}

TEST_CASE("a serial frame with a wrong checksum is met with silence, and the next one is heard") {
  RtuStream stream{silence};
  Bytes bad = rtu_frame({3, {4, 0, 20, 0, 2}});
  bad[3] ^= 1;
  stream.add(bad, Instant{});
  CHECK_FALSE(stream.next(Instant{}));
  CHECK_FALSE(stream.next(Instant{} + silence));
  CHECK_FALSE(stream.due());
  stream.add(rtu_frame({3, {4, 0, 20, 0, 2}}), Instant{} + seconds(1));
  CHECK(stream.next(Instant{} + seconds(1)));
}

TEST_CASE("half a serial frame before a silence spoils nothing behind it") {
  RtuStream stream{silence};
  stream.add(Bytes{3, 4, 0}, Instant{});
  stream.add(rtu_frame({3, {4, 0, 20, 0, 2}}), Instant{} + silence);
  CHECK(stream.next(Instant{} + silence));
}

TEST_CASE("a function of which the rig knows nothing is a request all the same, once the line is silent") {
  RtuStream stream{silence};
  stream.add(rtu_frame({3, {0x2b, 0x0e, 1, 0}}), Instant{});
  CHECK_FALSE(stream.next(Instant{}));
  CHECK(stream.next(Instant{} + silence)->pdu == Bytes{0x2b, 0x0e, 1, 0});
}

TEST_CASE("a character takes its start, its bits, its parity and its stops") {
  CHECK(character_time({"", 9600, Parity::none, 1}).ns == 10 * 1'000'000'000LL / 9600);
  CHECK(character_time({"", 19200, Parity::even, 1}).ns == 11 * 1'000'000'000LL / 19200);
  CHECK(character_time({"", 1200, Parity::odd, 2}) == milliseconds(10));
}

TEST_CASE("bytes leave one after the other, and none before what stood before it") {
  Outbox box;
  box.put(Instant{}, {1, 2}, milliseconds(10));
  box.put(Instant{} + milliseconds(5), {3}, milliseconds(10));
  CHECK(box.take(Instant{} + milliseconds(9)).empty());
  CHECK(*box.next() == Instant{} + milliseconds(10));
  CHECK(box.take(Instant{} + milliseconds(20)) == Bytes{1, 2});
  CHECK(box.take(Instant{} + milliseconds(29)).empty());
  CHECK(box.take(Instant{} + milliseconds(30)) == Bytes{3});
}

TEST_CASE("a line has its numbers in the pattern's places, a checksum before its end, and a word where there is no number") {
  CHECK(line_said(dial(Checksum::none), {"0.185"}, LineFault::none) == "B 0.185 mm \r\n");
  // By hand: exclusive or and sum of the eleven bytes of `B 0.185 mm `.
  CHECK(line_said(dial(Checksum::xor8), {"0.185"}, LineFault::none) == "B 0.185 mm 40\r\n");
  CHECK(line_said(dial(Checksum::sum8), {"0.185"}, LineFault::none) == "B 0.185 mm 78\r\n");
  CHECK(line_said(dial(Checksum::none), {std::nullopt}, LineFault::none) == "B OL mm \r\n");
  SerialLines pair = dial(Checksum::crc16);
  pair.answer = "{value};{value}\n";
  const std::string said = line_said(pair, {"1", "-2.5"}, LineFault::none);
  CHECK(said.starts_with("1;-2.5"));
  CHECK(said.ends_with("\n"));
  CHECK(said.size() == 6 + 4 + 1);
}

TEST_CASE("a faulty line is faulty as it was told") {
  const SerialLines wire = dial(Checksum::none);
  CHECK(line_said(wire, {"0.185"}, LineFault::comma) == "B 0,185 mm \r\n");
  CHECK(line_said(wire, {"0.185"}, LineFault::overload) == "B OL mm \r\n");
  CHECK(line_said(wire, {"0.185"}, LineFault::endless).find('\n') == std::string::npos);
  CHECK(line_said(wire, {"0.185"}, LineFault::zero_byte).find('\0') != std::string::npos);
  CHECK(line_said(wire, {"0.185"}, LineFault::merged) == "B 0.185 mm B 0.185 mm \r\n");
  CHECK(line_said(wire, {"0.185"}, LineFault::extra_field) == "B 0.185 mm ;0.000\r\n");
}

TEST_CASE("a number has as many places as its instrument has steps") {
  Channel channel;
  channel.scale = {-10, 10, -0.01, 0.01, false, 0};
  channel.resolution = 1e-6;
  CHECK(counts_text(channel, 0.1854) == "0.185");
  channel.resolution = 1e-5;
  CHECK(counts_text(channel, -0.1854) == "-0.19");
}
