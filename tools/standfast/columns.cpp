#include "tools/standfast/columns.hpp"

#include <algorithm>

namespace standfast::client {
namespace {

bool begins_character(char c) { return (static_cast<unsigned char>(c) & 0xc0) != 0x80; }

std::string cut(std::string_view text, std::size_t width) {
  std::string kept;
  std::size_t seen = 0;
  for (const char c : text) {
    if (begins_character(c) && ++seen + 1 >= width) break;
    kept += c;
  }
  return width > 1 ? kept + ".." : ".";
}

}  // namespace

std::size_t width_of(std::string_view text) {
  return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), begins_character));
}

std::string left(std::string_view text, std::size_t width) {
  const std::size_t own = width_of(text);
  return own > width ? cut(text, width) : std::string(text) + std::string(width - own, ' ');
}

std::string right(std::string_view text, std::size_t width) {
  const std::size_t own = width_of(text);
  return own > width ? cut(text, width) : std::string(width - own, ' ') + std::string(text);
}

std::string text_of(const TableText& table) {
  std::vector<std::size_t> widths;
  for (const std::string& cell : table.head) widths.push_back(width_of(cell));
  for (const auto& line : table.lines)
    for (std::size_t i = 0; i < line.size(); ++i) widths[i] = std::max(widths[i], width_of(line[i]));
  std::string text;
  const auto add = [&](const std::vector<std::string>& cells) {
    std::string line;
    for (std::size_t i = 0; i < cells.size(); ++i)
      line += (i ? "  " : "") + (table.numbers[i] ? right(cells[i], widths[i]) : left(cells[i], widths[i]));
    line.erase(line.find_last_not_of(' ') + 1);
    text += line + '\n';
  };
  add(table.head);
  for (const auto& line : table.lines) add(line);
  return text;
}

}  // namespace standfast::client
