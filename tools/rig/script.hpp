// Commands at their times: `at 12 s: gauge G1 stuck`, one a line, `#` to the end of the line is a remark. Times are those
// of the simulated site, counted from its start.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "config/instant.hpp"
#include "config/result.hpp"

namespace standfast::rig {

struct ScriptLine {
  Duration at;
  std::string command;
};

// By time, lines of one time in the order of the text. An error is a sentence that begins with the line's number.
Result<std::vector<ScriptLine>, std::string> read_script(std::string_view text);

}  // namespace standfast::rig
