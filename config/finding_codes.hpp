// The one table of everything that can be wrong with a rig or stage file. Codes are stable: people search for them.
#pragma once

#include <span>
#include <string_view>

#include "config/finding.hpp"

namespace standfast {

// Who besides the loader refuses the file.
enum class RefusedBy : std::uint8_t {
  loader,             // the loader alone: it takes the text, or another part of the job, to see it
  schema_as_well,     // structural: the JSON Schema says the same
};

struct CodeEntry {
  std::string_view code;  // `E-...` error: nothing is loaded. `W-...` warning: loaded, and told.
  RefusedBy refused_by;
  std::string_view meaning;  // One line.
  std::string_view example;  // What brings it.
};

std::span<const CodeEntry> finding_codes();

// Null where there is no such code.
const CodeEntry* find_code(std::string_view code);

// Of a code of the table.
Severity severity_of(std::string_view code);

}  // namespace standfast
