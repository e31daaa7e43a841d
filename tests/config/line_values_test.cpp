// Lines of text to numbers, and the checksums behind them.
#include <catch2/catch.hpp>
#include <rapidcheck.h>

#include <cmath>

#include "config/line_checksum.hpp"
#include "config/line_values.hpp"
#include "config/decimal.hpp"

using namespace standfast;

namespace {

SerialLines wire(const std::string& answer, DecimalMark decimal = DecimalMark::point, Checksum checksum = Checksum::none) {
  SerialLines wire;
  wire.answer = answer;
  wire.decimal = decimal;
  wire.checksum = checksum;
  wire.overload_words = {"OL", "-----", "99999"};
  return wire;
}

const SerialLines dial = wire("D{value} mm");

double number(const std::string& line, const SerialLines& where = dial) {
  INFO(line);
  const auto values = line_values(where, line);
  REQUIRE(values);
  REQUIRE(values->size() == 1);
  REQUIRE(values->front());
  return *values->front();
}

bool is_other_text(const std::string& line, const SerialLines& where = dial) {
  INFO(line);
  const auto values = line_values(where, line);
  return !values && values.error() == TextFault::other_text;
}

bool is_garbled(const std::string& line, const SerialLines& where = dial) {
  const auto values = line_values(where, line);
  return !values && values.error() == TextFault::garbled;
}

bool is_overload(const std::string& line, const SerialLines& where = dial) {
  const auto values = line_values(where, line);
  return values && !values->empty() && !values->front();
}

}  // namespace

TEST_CASE("a number in a line has a sign or none, digits, and decimals or none", "[fault-18]") {
  CHECK(number("D1.250 mm") == 1.25);
  CHECK(number("D-0.005 mm") == -0.005);
  CHECK(number("D+12 mm") == 12.0);
  CHECK(number("D  12.5 mm") == 12.5);
  CHECK(number("D-   1.5 mm") == -1.5);
  CHECK(number("D+0012.345 mm") == 12.345);
  CHECK(number("D123456789012345 mm") == 123456789012345.0);
}

TEST_CASE("a number that is cut, doubled or written otherwise is never read in part", "[fault-18]") {
  for (const char* line : {"D1. mm", "D.5 mm", "D mm", "D- mm", "D--1 mm", "D+-1 mm", "D1.2.3 mm", "D1 2 mm", "D1.2 3 mm", "D1e3 mm",
                           "D0x10 mm", "Dnan mm", "Dinf mm", "D1_000 mm", "D1,250 mm", "D1'000 mm", "D1234567890123456 mm",
                           "D1.250", "1.250 mm", "D1.250 mm ", " D1.250 mm", "d1.250 mm", "D1.250 MM", "D1.250mm", ""})
    CHECK(is_other_text(line));
}

TEST_CASE("a decimal comma is read where the rig states one, and then a point is not", "[fault-18]") {
  const SerialLines comma = wire("D{value} mm", DecimalMark::comma);
  CHECK(number("D1,250 mm", comma) == 1.25);
  CHECK(is_other_text("D1.250 mm", comma));
  CHECK(is_other_text("D1,250 mm"));
  CHECK(is_other_text("D1.000,5 mm", comma));
  CHECK(is_other_text("D1,000.5 mm"));
}

TEST_CASE("another unit, a field more or a field less is not the stated line", "[fault-18]") {
  for (const char* line : {"D0.049 in", "D1.250 mm 0.0", "D1.250 mm;0.0", "D1.250 mm mm", "DD1.250 mm", "D1.250 mmD1.251 mm"})
    CHECK(is_other_text(line));
  const SerialLines pair = wire("{value};{value}");
  CHECK(is_other_text("1.0", pair));
  CHECK(is_other_text("1.0;", pair));
  CHECK(is_other_text("1.0;2.0;3.0", pair));
}

TEST_CASE("negative zero in a line is zero", "[fault-18]") {
  for (const char* line : {"D-0 mm", "D-0.000 mm", "D- 0.0 mm"}) {
    CHECK(number(line) == 0.0);
    CHECK_FALSE(std::signbit(number(line)));
  }
}

TEST_CASE("an overload word stands for no number, alone or in the number's place", "[fault-18]") {
  for (const char* line : {"DOL mm", "D  OL mm", "D----- mm", "D99999 mm", "OL", " OL ", "-----"}) CHECK(is_overload(line));
  for (const char* line : {"D-- mm", "D------ mm", "DOL", "Dol mm", "DOL1.0 mm", "OL OL"}) CHECK(is_other_text(line));
  CHECK(is_other_text("D99999.5 mm") == false);  // A number that begins as the word does.
  CHECK(number("D99999.5 mm") == 99999.5);
  CHECK(number("D999990 mm") == 999990.0);
  const auto pair = line_values(wire("{value},{value}"), "OL,1.5");
  REQUIRE(pair);
  CHECK_FALSE((*pair)[0]);
  CHECK((*pair)[1] == 1.5);
}

TEST_CASE("each value of a line has its place", "[fault-18]") {
  const auto values = line_values(wire("A {value} B {value},{value}"), "A 1 B 2.5,-3");
  REQUIRE(values);
  CHECK(*values == LineValues{1.0, 2.5, -3.0});
}

TEST_CASE("a byte that is no printable ASCII makes a line garbled, unless the rig states it", "[fault-17]") {
  CHECK(is_garbled("D1.250 \xB5m"));
  CHECK(is_garbled(std::string("D1.2\0" "50 mm", 10)));
  CHECK(is_garbled("D1.250 mm\xFF"));
  CHECK(is_garbled("D1.250\tmm"));
  CHECK(number("D1.250 \xB5m", wire("D{value} \xB5m")) == 1.25);
  CHECK(number("\x02" "1.250\x03", wire("\x02{value}\x03")) == 1.25);
}

TEST_CASE("the checksums of a line agree with published check values", "[fault-17]") {
  // CRC-16/MODBUS of "123456789" is 4B37: docs.rs/crc-catalog/2.5.0, CRC_16_MODBUS.
  CHECK(without_checksum(Checksum::crc16, "1234567894B37") == "123456789");
  CHECK(without_checksum(Checksum::crc16, "1234567894b37") == "123456789");
  CHECK_FALSE(without_checksum(Checksum::crc16, "123456789374B"));
  // A sentence of NMEA 0183, whose checksum is the exclusive or of what stands between $ and *:
  // mx.vaultbbs.com/forum/code/132316, a sentence that ends with *4C.
  CHECK(without_checksum(Checksum::xor8, "GPRMC,000004,V,3714.6284,N,12146.9181,W,0.000,0.0,290697,15.4,E4C"));
  CHECK_FALSE(without_checksum(Checksum::xor8, "GPRMC,000004,V,3714.6284,N,12146.9181,W,0.000,0.0,290697,15.5,E4C"));
  // By arithmetic: 1 xor 2 xor ... xor 9 is 1, and nine times 30 leaves 30; the sum is 9 x 48 + 45 = 477 = 256 + 221.
  CHECK(without_checksum(Checksum::xor8, "12345678931") == "123456789");
  CHECK(without_checksum(Checksum::sum8, "123456789DD") == "123456789");
  CHECK(without_checksum(Checksum::none, "123456789DD") == "123456789DD");
}

TEST_CASE("a line with a wrong checksum, or without one, is garbled", "[fault-17]") {
  const SerialLines guarded = wire("D{value} mm", DecimalMark::point, Checksum::xor8);
  CHECK(number("D1.250 mm4C", guarded) == 1.25);
  for (const char* line : {"D1.250 mm4D", "D1.251 mm4C", "D1.250 mm", "D1.250 mm4", "C", "", "D1.250 mm4CD1.250 mm4C", "D1.250 mm-1",
                           "D1.250 mm 4C"})
    CHECK(is_garbled(line, guarded));
}

TEST_CASE("a line that carries a number gives that number, whatever stands around it", "[property]") {
  REQUIRE(rc::check([](int counts, bool comma, std::uint8_t kind) {
    const SerialLines where = wire("A={value} mm", comma ? DecimalMark::comma : DecimalMark::point);
    const int decimals = kind % 7;
    std::string text = fixed_text(decimal_of_digits(counts < 0, std::to_string(std::abs(static_cast<long>(counts))), -decimals), decimals);
    const double stated = std::strtod(text.c_str(), nullptr);
    if (const auto at = text.find('.'); comma && at != std::string::npos) text[at] = ',';
    const auto values = line_values(where, "A=" + text + " mm");
    RC_ASSERT(static_cast<bool>(values));
    RC_ASSERT(*values->front() == stated);
  }));
}

TEST_CASE("with a checksum no line that differs by one byte is read", "[property][fault-17]") {
  REQUIRE(rc::check([](std::uint8_t place, std::uint8_t byte, std::uint8_t kind) {
    constexpr Checksum kinds[] = {Checksum::xor8, Checksum::sum8, Checksum::crc16};
    const char* lines[] = {"D1.250 mm4C", "D1.250 mm34", "D1.250 mm0000"};
    const Checksum checksum = kinds[kind % 3];
    std::string line = lines[kind % 3];
    if (checksum == Checksum::crc16) {
      constexpr char digits[] = "0123456789ABCDEF";
      const unsigned crc = crc16({reinterpret_cast<const std::uint8_t*>(line.data()), 9});
      for (int i = 0; i < 4; ++i) line[9 + static_cast<std::size_t>(i)] = digits[(crc >> (12 - 4 * i)) & 15];
    }
    const SerialLines where = wire("D{value} mm", DecimalMark::point, checksum);
    RC_ASSERT(static_cast<bool>(line_values(where, line)));
    const std::string right = line;
    line[place % line.size()] = static_cast<char>(byte);
    const auto values = line_values(where, line);
    const bool same = std::tolower(static_cast<unsigned char>(line[place % line.size()])) ==
                      std::tolower(static_cast<unsigned char>(right[place % right.size()]));
    RC_ASSERT(same || !values);
  }));
}
