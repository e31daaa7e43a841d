// Bytes to lines.
#include <catch2/catch.hpp>
#include <rapidcheck.h>

#include "drivers/line_codec.hpp"

using namespace standfast;
using Begin = LineAssembler::Begin;

namespace {

std::vector<Line> lines_of(std::string_view bytes, Begin begin = Begin::at_a_line) {
  LineAssembler assembler{begin};
  std::vector<Line> lines;
  for (const char byte : bytes)
    if (auto line = assembler.take(byte)) lines.push_back(*line);
  return lines;
}

Flaw flaw_of_rest(std::string_view bytes) {
  LineAssembler assembler{Begin::at_a_line};
  for (const char byte : bytes) (void)assembler.take(byte);
  return assembler.flaw_of_rest();
}

}  // namespace

TEST_CASE("a line ends with CR, LF or both, and an empty one is none", "[fault-17]") {
  for (const char* bytes : {"a\rb\r", "a\nb\n", "a\r\nb\r\n", "\r\n\r\na\n\r\n\rb\r"}) {
    const auto lines = lines_of(bytes);
    REQUIRE(lines.size() == 2);
    CHECK(lines[0].text == "a");
    CHECK(lines[1].text == "b");
  }
  CHECK(lines_of("a").empty());
}

TEST_CASE("within a line everything up to its end is thrown away, and nothing more", "[fault-17]") {
  CHECK(lines_of("half\rwhole\r", Begin::within_a_line).size() == 1);
  CHECK(lines_of("half\rwhole\r", Begin::within_a_line)[0].text == "whole");
  CHECK(lines_of("\nwhole\r", Begin::within_a_line)[0].text == "whole");
}

TEST_CASE("a line of 256 bytes is one, of 257 it is garbled and cut, and the next is fine", "[fault-17]") {
  const auto fits = lines_of(std::string(256, 'x') + "\r");
  CHECK(fits[0].flaw == Flaw::none);
  const auto lines = lines_of(std::string(257, 'x') + "\ry\r");
  REQUIRE(lines.size() == 2);
  CHECK(lines[0].flaw == Flaw::garbled);
  CHECK(lines[0].text.size() == 256);
  CHECK(lines[1].flaw == Flaw::none);
  CHECK(lines[1].text == "y");
}

TEST_CASE("what has no end is silence, an answer without its end, or noise", "[fault-17]") {
  CHECK(flaw_of_rest("") == Flaw::no_answer);
  CHECK(flaw_of_rest("D1.2\r\n") == Flaw::no_answer);
  CHECK(flaw_of_rest("D1.2") == Flaw::malformed);
  CHECK(flaw_of_rest("D1.2\xFF") == Flaw::garbled);
  CHECK(flaw_of_rest(std::string(5000, '9')) == Flaw::garbled);
}

TEST_CASE("whatever bytes come, every line is bounded and no byte stands in two", "[property][fault-17]") {
  REQUIRE(rc::check([](const std::vector<std::uint8_t>& picks, bool within) {
    std::string bytes;
    for (const std::uint8_t pick : picks) {
      if (pick % 8 < 2) bytes += pick % 8 == 0 ? '\r' : '\n';
      else bytes.append(pick, static_cast<char>(pick | 16));
    }
    std::size_t at = 0;  // Behind the lines so far.
    for (const Line& line : lines_of(bytes, within ? Begin::within_a_line : Begin::at_a_line)) {
      RC_ASSERT(line.text.size() <= longest_line);
      RC_ASSERT(line.text.find_first_of("\r\n") == std::string::npos);
      const std::size_t begun = bytes.find(line.text, at);
      RC_ASSERT(begun != std::string::npos);
      at = bytes.find_first_of("\r\n", begun + line.text.size());
      RC_ASSERT(at != std::string::npos);
    }
  }));
}
