// The bytes of a file as lines and characters: what a byte offset is called by people, and what UTF-8 looks like.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string_view>
#include <vector>

#include "config/rig.hpp"

namespace standfast {

struct Utf8Character {
  std::uint32_t code_point{0};
  int bytes{0};  // 0: not UTF-8 (overlong, surrogate, above U+10FFFF, cut short).
};
Utf8Character utf8_at(std::string_view bytes, std::size_t offset);

// Characters of valid or invalid UTF-8; a byte that belongs to none counts as one.
int characters_in(std::string_view bytes);

class SourceText {
 public:
  explicit SourceText(std::string_view bytes);

  [[nodiscard]] Place place_of(std::size_t offset) const;  // An offset beyond the end is taken as the end.
  [[nodiscard]] std::string_view line(int number) const;   // From 1, without its line end; empty beyond the last.

 private:
  std::string_view bytes_;
  std::vector<std::size_t> starts_;  // Byte offsets of the lines, ascending.
};

}  // namespace standfast
