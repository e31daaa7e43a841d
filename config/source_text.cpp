#include "config/source_text.hpp"

#include <algorithm>

namespace standfast {

Utf8Character utf8_at(std::string_view bytes, std::size_t offset) {
  const auto byte = [&](std::size_t i) { return static_cast<std::uint8_t>(bytes[offset + i]); };
  const std::uint8_t first = byte(0);
  if (first < 0x80) return {first, 1};
  const int length = first >= 0xC2 && first < 0xE0   ? 2
                     : first >= 0xE0 && first < 0xF0 ? 3
                     : first >= 0xF0 && first < 0xF5 ? 4
                                                     : 0;
  if (length == 0 || offset + static_cast<std::size_t>(length) > bytes.size()) return {};
  std::uint32_t value = first & (0xFFu >> (length + 1));
  for (std::size_t i = 1; i < static_cast<std::size_t>(length); ++i) {
    if ((byte(i) & 0xC0) != 0x80) return {};
    value = (value << 6) | (byte(i) & 0x3Fu);
  }
  constexpr std::uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000};
  if (value < least[length] || value > 0x10FFFF || (value >= 0xD800 && value <= 0xDFFF)) return {};
  return {value, length};
}

int characters_in(std::string_view bytes) {
  int count = 0;
  for (std::size_t i = 0; i < bytes.size(); ++count) {
    i += static_cast<std::size_t>(std::max(1, utf8_at(bytes, i).bytes));
  }
  return count;
}

SourceText::SourceText(std::string_view bytes) : bytes_{bytes}, starts_{0} {
  for (std::size_t i = 0; i < bytes.size(); ++i) {
    if (bytes[i] == '\n') starts_.push_back(i + 1);
  }
}

Place SourceText::place_of(std::size_t offset) const {
  offset = std::min(offset, bytes_.size());
  const auto after = std::upper_bound(starts_.begin(), starts_.end(), offset);
  const std::size_t start = *(after - 1);
  return {static_cast<int>(after - starts_.begin()), 1 + characters_in(bytes_.substr(start, offset - start))};
}

std::string_view SourceText::line(int number) const {
  if (number < 1 || static_cast<std::size_t>(number) > starts_.size()) return {};
  const std::size_t start = starts_[static_cast<std::size_t>(number) - 1];
  return bytes_.substr(start, bytes_.find('\n', start) - start);
}

}  // namespace standfast
