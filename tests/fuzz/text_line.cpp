// Any bytes on a line of text, for patterns with one number and with several, each decimal mark and each checksum: lines stay
// bounded, and a line that has a value has one for each number, all finite, and is told the same when it is read again.
#include <cmath>

#include "config/ensure.hpp"
#include "config/line_checksum.hpp"
#include "config/line_values.hpp"
#include "drivers/line_codec.hpp"

using namespace standfast;

namespace {

std::string with_checksum(Checksum kind, std::string text) {
  unsigned sum = 0;
  for (const char c : text) sum = kind == Checksum::xor8 ? sum ^ static_cast<unsigned char>(c) : sum + static_cast<unsigned char>(c);
  if (kind == Checksum::crc16) sum = crc16({reinterpret_cast<const std::uint8_t*>(text.data()), text.size()});
  constexpr char digits[] = "0123456789abcdef";
  const int places = kind == Checksum::none ? 0 : kind == Checksum::crc16 ? 4 : 2;
  for (int i = places - 1; i >= 0; --i) text += digits[sum >> (4 * i) & 15];
  return text;
}

void check(const SerialLines& wire, const std::string& line, std::size_t holes) {
  const auto values = line_values(wire, line);
  const Flaw flaw = judge_line(wire, line);
  ENSURE(flaw == (!values && values.error() == TextFault::garbled ? Flaw::garbled : Flaw::none));
  if (!values) return;
  ENSURE(values->size() == holes);
  for (const auto& value : *values) ENSURE(!value || (std::isfinite(*value) && !(*value == 0 && std::signbit(*value))));
  ENSURE(*line_values(wire, line) == *values);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  constexpr std::size_t choices = 2;
  if (size < choices) return 0;
  constexpr const char* patterns[] = {"D{value} mm", "{value}", "{value};{value}", "A {value} B {value},{value} \xB5m"};
  constexpr std::size_t holes[] = {1, 1, 2, 3};
  SerialLines wire;
  wire.answer = patterns[data[0] % 4];
  wire.decimal = static_cast<DecimalMark>(data[0] / 4 % 2);
  wire.checksum = static_cast<Checksum>(data[0] / 8 % 4);
  wire.overload_words = {"OL", "-----", "99999"};

  LineAssembler assembler{static_cast<LineAssembler::Begin>(data[1] % 2)};
  for (std::size_t i = choices; i < size; ++i) {
    const std::optional<Line> line = assembler.take(static_cast<char>(data[i]));
    if (!line) continue;
    ENSURE(line->text.size() <= longest_line && !line->text.empty());
    check(wire, line->text, holes[data[0] % 4]);
    check(wire, with_checksum(wire.checksum, line->text), holes[data[0] % 4]);
  }
  ENSURE(assembler.has_begun() == (assembler.flaw_of_rest() != Flaw::no_answer));
  return 0;
}
