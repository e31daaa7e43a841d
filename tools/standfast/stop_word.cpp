#include "tools/standfast/stop_word.hpp"

#include <algorithm>
#include <string>

#include "config/nearest_word.hpp"

namespace standfast::client {

// Up to five letters one slip is what the nearest word allows; with more letters it is two slips from `stop` or farther.
bool means_stop(std::string_view word) {
  constexpr std::string_view known[] = {"stop"};
  std::string small(word);
  std::transform(small.begin(), small.end(), small.begin(), [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c; });
  return small.size() <= known[0].size() + 1 && !nearest_word(small, known).empty();
}

}  // namespace standfast::client
