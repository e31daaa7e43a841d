// Findings as a compiler would print them.
#pragma once

#include <span>
#include <string>
#include <string_view>

#include "config/finding.hpp"

namespace standfast {

// stages.yaml:41:21: error: '0,5 mm' is not a quantity (decimal comma) [E-number]
//    41 |   hold: {above: '0,5 mm'}
//       |                 ^~~~~~~~
//    expected: number, space, unit of length, as in '0.5 mm'
// Several lines, each with its line end. `bytes` is the file the finding is about; a finding with line 0 has no excerpt.
std::string finding_text(const Finding& finding, std::string_view bytes);

// All of them, and last the line that counts: `stages.yaml: 2 errors, 1 warning; nothing was loaded`. The consequence
// is the caller's to say, and stands behind the semicolon; empty: no semicolon.
std::string findings_text(std::span<const Finding> findings, std::string_view bytes, std::string_view file_name,
                          std::string_view consequence);

// `2 errors, 1 warning`; `nothing to complain about` where there is none.
std::string findings_count(std::span<const Finding> findings);

bool has_error(std::span<const Finding> findings);

}  // namespace standfast
