// Bytes to lines of text, and a word on each line: whole and clean, or garbled. What is in a line the core reads. Pure.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "config/rig.hpp"
#include "drivers/scan.hpp"

namespace standfast {

inline constexpr std::size_t longest_line = 256;  // Bytes, without its end. A longer one is thrown away up to its end.

struct Line {
  std::string text;        // Without its end; of one too long its beginning.
  Flaw flaw{Flaw::none};   // `garbled` where it is too long.
};

// A line ends with CR, LF or both; empty lines are none.
class LineAssembler {
 public:
  // Where the next byte stands. Within a line: what comes up to the next end is half a line and thrown away.
  enum class Begin : std::uint8_t { at_a_line, within_a_line };
  explicit LineAssembler(Begin begin) : half_{begin == Begin::within_a_line} {}

  // The line that this byte ended, if it ended one.
  std::optional<Line> take(char byte);
  // True where a line has begun and not ended.
  bool has_begun() const { return !begun_.empty() || too_long_; }
  // What is wrong where nothing more comes: no_answer, malformed (the end is missing), garbled.
  Flaw flaw_of_rest() const;

 private:
  std::string begun_;
  bool half_;
  bool too_long_{false};
};

// `none` where the line is clean, also if it is not what the rig states: that is for the core to say. Else `garbled`.
Flaw judge_line(const SerialLines& wire, std::string_view line);

}  // namespace standfast
