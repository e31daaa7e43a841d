// Text in columns, counted in characters as a terminal counts them.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace standfast::client {

std::size_t width_of(std::string_view text);  // Characters, not bytes.
// Filled up with blanks, or cut with a mark where something is missing.
std::string left(std::string_view text, std::size_t width);
std::string right(std::string_view text, std::size_t width);

// Lines of cells under a head, each column as wide as its widest cell; the columns named in `numbers` are set right.
struct TableText {
  std::vector<std::string> head;
  std::vector<bool> numbers;
  std::vector<std::vector<std::string>> lines;
};
std::string text_of(const TableText& table);

}  // namespace standfast::client
