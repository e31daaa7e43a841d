#include "config/finding_text.hpp"

#include <algorithm>

#include "config/source_text.hpp"

namespace standfast {

namespace {

constexpr int most_shown = 110;  // Characters of a source line; a longer one is cut around the caret.

// The part of a line that is shown, one column a character; what cannot be printed is shown as '?'.
std::string shown(std::string_view line, int first, int count) {
  std::string text;
  int column = 1;
  for (std::size_t i = 0; i < line.size(); ++column) {
    const Utf8Character c = utf8_at(line, i);
    const auto bytes = static_cast<std::size_t>(std::max(1, c.bytes));
    const bool printable = c.bytes > 0 && c.code_point >= 0x20 && !(c.code_point >= 0x7F && c.code_point < 0xA0) &&
                           !(c.code_point >= 0x200B && c.code_point <= 0x206F) && c.code_point != 0xFEFF;
    if (column >= first && column < first + count) text += printable ? line.substr(i, bytes) : std::string_view{"?"};
    i += bytes;
  }
  return text;
}

std::string excerpt(const Finding& finding, std::string_view line) {
  const int first = finding.column <= most_shown ? 1 : finding.column - most_shown / 2;
  const int caret = finding.column - first;
  const int length = std::clamp(finding.length, 1, std::max(1, most_shown - caret));
  const std::string number = std::to_string(finding.line);
  const std::string margin(std::max<std::size_t>(5, number.size()) - number.size(), ' ');
  return margin + number + " | " + shown(line, first, most_shown) + "\n" +
         std::string(margin.size() + number.size(), ' ') + " | " + std::string(static_cast<std::size_t>(caret), ' ') +
         "^" + std::string(static_cast<std::size_t>(length - 1), '~') + "\n";
}

std::string counted(long number, std::string_view noun) {
  return std::to_string(number) + " " + std::string{noun} + (number == 1 ? "" : "s");
}

long count(std::span<const Finding> findings, Severity severity) {
  return std::count_if(findings.begin(), findings.end(), [&](const Finding& f) { return f.severity == severity; });
}

}  // namespace

std::string finding_text(const Finding& finding, std::string_view bytes) {
  std::string text = finding.file;
  if (finding.line > 0) text += ":" + std::to_string(finding.line) + ":" + std::to_string(finding.column);
  text += finding.severity == Severity::error ? ": error: " : ": warning: ";
  text += finding.message + " [" + finding.code + "]\n";
  if (finding.line > 0) text += excerpt(finding, SourceText{bytes}.line(finding.line));
  if (!finding.expected.empty()) text += "   expected: " + finding.expected + "\n";
  if (!finding.nearest.empty()) text += "   nearest: '" + finding.nearest + "'\n";
  return text;
}

std::string findings_count(std::span<const Finding> findings) {
  const long errors = count(findings, Severity::error);
  const long warnings = count(findings, Severity::warning);
  std::string text;
  if (errors > 0) text = counted(errors, "error");
  if (warnings > 0) text += (text.empty() ? "" : ", ") + counted(warnings, "warning");
  return text.empty() ? "nothing to complain about" : text;
}

std::string findings_text(std::span<const Finding> findings, std::string_view bytes, std::string_view file_name,
                          std::string_view consequence) {
  std::string text;
  for (const Finding& f : findings) text += finding_text(f, bytes);
  text += std::string{file_name} + ": " + findings_count(findings);
  if (!consequence.empty()) text += "; " + std::string{consequence};
  return text + "\n";
}

bool has_error(std::span<const Finding> findings) { return count(findings, Severity::error) > 0; }

}  // namespace standfast
