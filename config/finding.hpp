// One complaint about a file: where, what was found, what was expected. Rendered by finding_text as
// `file:line:column: error: message` with the line, a caret and the code.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace standfast {

enum class Severity : std::uint8_t { error, warning };

struct Finding {
  std::string file;
  int line{0}, column{0}, length{1};  // From 1; the column counts characters, not bytes.
  Severity severity{Severity::error};
  std::string code;      // Stable short name, `E-unit-missing`.
  std::string message;   // Lower case, no full stop.
  std::string found, expected;
  std::string nearest;   // The nearest known word; empty where none is near.
};
using Findings = std::vector<Finding>;

}  // namespace standfast
