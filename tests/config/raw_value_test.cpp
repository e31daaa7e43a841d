// Words to numbers. The bit patterns are those of IEEE 754 (binary32, binary64), from memory; 123456.0 = 47F1 2000 is also what
// libmodbus's modbus_get_float_abcd reads, measured on Debian's 3.1.6-2.1+deb12u1.
#include <catch2/catch.hpp>
#include <rapidcheck.h>

#include <bit>
#include <cmath>
#include <limits>

#include "config/raw_value.hpp"

using namespace standfast;

namespace {

using W = std::vector<std::uint16_t>;
constexpr Order big = Order::big, little = Order::little;

RawFault fault(const W& words, RawType type) { return raw_value(words, type, big, big).error(); }
double number(const W& words, RawType type) { return raw_value(words, type, big, big).value(); }

// The words of a number, written the slow way: its bytes by significance, put where the two orders say.
W words_of_bits(std::uint64_t bits, RawType type, Order word_order, Order byte_order) {
  const int count = words_of(type);
  W words;
  for (int i = 0; i < count; ++i) {
    const int place = word_order == little ? i : count - 1 - i;  // 0: least significant
    const auto high = static_cast<std::uint8_t>(bits >> (16 * place + 8)), low = static_cast<std::uint8_t>(bits >> (16 * place));
    words.push_back(static_cast<std::uint16_t>(byte_order == big ? high * 256 + low : low * 256 + high));
  }
  return words;
}

template <class T>
void survives(RawType type, T value) {
  std::uint64_t bits = 0;
  if constexpr (sizeof(T) == 8) bits = std::bit_cast<std::uint64_t>(value);
  else if constexpr (sizeof(T) == 4) bits = std::bit_cast<std::uint32_t>(value);
  else bits = std::bit_cast<std::uint16_t>(value);
  for (const Order word_order : {big, little})
    for (const Order byte_order : {big, little}) {
      const auto read = raw_value(words_of_bits(bits, type, word_order, byte_order), type, word_order, byte_order);
      RC_ASSERT(static_cast<bool>(read));
      RC_ASSERT(*read == static_cast<double>(value));
    }
}

}  // namespace

TEST_CASE("a float is read in each of the four orders", "[fault-14]") {
  CHECK(raw_value(W{0x47F1, 0x2000}, RawType::float32, big, big).value() == 123456.0);
  CHECK(raw_value(W{0x2000, 0x47F1}, RawType::float32, little, big).value() == 123456.0);
  CHECK(raw_value(W{0xF147, 0x0020}, RawType::float32, big, little).value() == 123456.0);
  CHECK(raw_value(W{0x0020, 0xF147}, RawType::float32, little, little).value() == 123456.0);
  CHECK(number({0x3F80, 0}, RawType::float32) == 1.0);
  CHECK(number({0xC000, 0}, RawType::float32) == -2.0);
  CHECK(number({0x3FF0, 0, 0, 0}, RawType::float64) == 1.0);
  CHECK(number({0x4009, 0x21FB, 0x5444, 0x2D18}, RawType::float64) == 3.141592653589793);
  CHECK(number({0x8000, 0}, RawType::float32) == 0.0);
}

TEST_CASE("an integer is read with its sign", "[fault-14]") {
  CHECK(number({0xFFFF}, RawType::uint16) == 65535.0);
  CHECK(number({0xFFFF}, RawType::int16) == -1.0);
  CHECK(number({0x8000}, RawType::int16) == -32768.0);
  CHECK(raw_value(W{0x3412}, RawType::uint16, big, little).value() == 0x1234);
  CHECK(number({0x0001, 0x86A0}, RawType::uint32) == 100000.0);
  CHECK(raw_value(W{0x86A0, 0x0001}, RawType::int32, little, big).value() == 100000.0);
  CHECK(number({0xFFFE, 0x7960}, RawType::int32) == -100000.0);
  CHECK(number({0, 0, 0x0001, 0x86A0}, RawType::uint64) == 100000.0);
  CHECK(number({0xFFFF, 0xFFFF, 0xFFFE, 0x7960}, RawType::int64) == -100000.0);
}

TEST_CASE("what is not a usable number is refused with its reason", "[fault-14]") {
  CHECK(fault({0x7FC0, 0}, RawType::float32) == RawFault::not_a_number);
  CHECK(fault({0xFFFF, 0xFFFF}, RawType::float32) == RawFault::not_a_number);
  CHECK(fault({0x7F80, 1}, RawType::float32) == RawFault::not_a_number);
  CHECK(fault({0x7F80, 0}, RawType::float32) == RawFault::infinite);
  CHECK(fault({0xFF80, 0}, RawType::float32) == RawFault::infinite);
  CHECK(fault({0, 1}, RawType::float32) == RawFault::denormal);
  CHECK(fault({0x807F, 0xFFFF}, RawType::float32) == RawFault::denormal);
  CHECK(fault({0x7FF8, 0, 0, 0}, RawType::float64) == RawFault::not_a_number);
  CHECK(fault({0xFFF0, 0, 0, 0}, RawType::float64) == RawFault::infinite);
  CHECK(fault({0, 0, 0, 1}, RawType::float64) == RawFault::denormal);
  CHECK(fault({1, 2, 3}, RawType::float64) == RawFault::wrong_count);
  CHECK(fault({}, RawType::uint16) == RawFault::wrong_count);
}

TEST_CASE("a count that a double cannot tell from its neighbour is refused") {
  CHECK(number({0x0020, 0, 0, 0}, RawType::uint64) == 9007199254740992.0);
  CHECK(fault({0x0020, 0, 0, 1}, RawType::uint64) == RawFault::too_large);
  CHECK(fault({0xFFFF, 0xFFFF, 0xFFFF, 0xFFFF}, RawType::uint64) == RawFault::too_large);
  CHECK(number({0xFFE0, 0, 0, 0}, RawType::int64) == -9007199254740992.0);
  CHECK(fault({0xFFDF, 0xFFFF, 0xFFFF, 0xFFFF}, RawType::int64) == RawFault::too_large);
  CHECK(fault({0x8000, 0, 0, 0}, RawType::int64) == RawFault::too_large);
}

TEST_CASE("the smallest normal and the largest finite float are numbers") {
  CHECK(number({0x0080, 0}, RawType::float32) == std::numeric_limits<float>::min());
  CHECK(number({0x7F7F, 0xFFFF}, RawType::float32) == std::numeric_limits<float>::max());
  CHECK(number({0x0010, 0, 0, 0}, RawType::float64) == std::numeric_limits<double>::min());
}

TEST_CASE("every number comes back in every word and byte order", "[property]") {
  REQUIRE(rc::check("integers", [](std::uint16_t a, std::int16_t b, std::uint32_t c, std::int32_t d) {
    survives(RawType::uint16, a);
    survives(RawType::int16, b);
    survives(RawType::uint32, c);
    survives(RawType::int32, d);
  }));
  REQUIRE(rc::check("64-bit integers", [](std::uint64_t bits) {
    survives(RawType::uint64, bits >> 11);
    survives(RawType::int64, static_cast<std::int64_t>(bits) / 2048);
  }));
  REQUIRE(rc::check("floats", [](std::uint64_t bits) {
    const float narrow = std::bit_cast<float>(static_cast<std::uint32_t>(bits));
    const double wide = std::bit_cast<double>(bits);
    if (std::isnormal(narrow) || narrow == 0) survives(RawType::float32, narrow);
    if (std::isnormal(wide) || wide == 0) survives(RawType::float64, wide);
  }));
}

TEST_CASE("whatever the words are, what is read is finite", "[property][fault-14]") {
  REQUIRE(rc::check([](const W& words) {
    for (int type = 0; type <= static_cast<int>(RawType::float64); ++type)
      for (const Order word_order : {big, little})
        for (const Order byte_order : {big, little}) {
          const auto read = raw_value(words, static_cast<RawType>(type), word_order, byte_order);
          const bool usable = !read || *read == 0 || std::isnormal(*read);  // Normal excludes infinite and NaN.
          RC_ASSERT(usable);
        }
  }));
}
