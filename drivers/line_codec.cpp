#include "drivers/line_codec.hpp"

#include <algorithm>
#include <utility>

#include "config/line_values.hpp"

namespace standfast {

std::optional<Line> LineAssembler::take(char byte) {
  if (byte != '\r' && byte != '\n') {
    if (begun_.size() == longest_line) too_long_ = true;
    else begun_ += byte;
    return std::nullopt;
  }
  Line line{std::exchange(begun_, {}), std::exchange(too_long_, false) ? Flaw::garbled : Flaw::none};
  if (std::exchange(half_, false) || line.text.empty()) return std::nullopt;
  return line;
}

Flaw LineAssembler::flaw_of_rest() const {
  if (!has_begun()) return Flaw::no_answer;
  const bool clean = std::ranges::all_of(begun_, [](char c) { return c >= ' ' && c <= '~'; });
  return clean && !too_long_ ? Flaw::malformed : Flaw::garbled;
}

Flaw judge_line(const SerialLines& wire, std::string_view line) {
  const auto values = line_values(wire, line);
  return !values && values.error() == TextFault::garbled ? Flaw::garbled : Flaw::none;
}

}  // namespace standfast
