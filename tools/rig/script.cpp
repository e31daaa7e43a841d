#include "tools/rig/script.hpp"

#include <algorithm>

#include "config/unit_text.hpp"

namespace standfast::rig {
namespace {

std::string_view trimmed(std::string_view text) {
  const auto first = text.find_first_not_of(" \t\r");
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t\r") - first + 1);
}

Result<ScriptLine, std::string> read_line(std::string_view line) {
  const auto colon = line.find(':');
  if (!line.starts_with("at ") || colon == std::string_view::npos) {
    return Failure{std::string{"expected 'at TIME: COMMAND', as in 'at 12 s: gauge G1 stuck'"}};
  }
  const auto at = parse_duration(trimmed(line.substr(3, colon - 3)));
  if (!at) return Failure{at.error().message + "; expected " + at.error().expected};
  const std::string_view command = trimmed(line.substr(colon + 1));
  if (command.empty()) return Failure{std::string{"no command stands behind the time"}};
  return ScriptLine{*at, std::string{command}};
}

}  // namespace

Result<std::vector<ScriptLine>, std::string> read_script(std::string_view text) {
  std::vector<ScriptLine> lines;
  for (int number = 1; !text.empty(); ++number) {
    const auto end = text.find('\n');
    const std::string_view whole = text.substr(0, end);
    text = end == std::string_view::npos ? std::string_view{} : text.substr(end + 1);
    const std::string_view said = trimmed(whole.substr(0, whole.find('#')));
    if (said.empty()) continue;
    const auto line = read_line(said);
    if (!line) return Failure{"line " + std::to_string(number) + ": " + line.error()};
    lines.push_back(*line);
  }
  std::stable_sort(lines.begin(), lines.end(), [](const ScriptLine& a, const ScriptLine& b) { return a.at < b.at; });
  return lines;
}

}  // namespace standfast::rig
