#include "config/nearest_word.hpp"

#include <algorithm>
#include <array>
#include <cstddef>

namespace standfast {
namespace {

constexpr std::size_t longest_word = 64;
constexpr int slip = 2;  // A wrong case is half a slip.

constexpr char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }

constexpr int replacing(char a, char b) { return a == b ? 0 : lower(a) == lower(b) ? slip / 2 : slip; }

// Edit distance with swapped neighbours (optimal string alignment), row by row. Both words are at most longest_word.
int distance(std::string_view a, std::string_view b) {
  using Row = std::array<int, longest_word + 1>;
  Row before_last{}, last{}, now{};
  for (std::size_t j = 0; j <= b.size(); ++j) last[j] = static_cast<int>(j) * slip;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    now[0] = static_cast<int>(i) * slip;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      now[j] = std::min({last[j] + slip, now[j - 1] + slip, last[j - 1] + replacing(a[i - 1], b[j - 1])});
      const bool swapped = i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1];
      if (swapped) now[j] = std::min(now[j], before_last[j - 2] + slip);
    }
    before_last = last;
    last = now;
  }
  return last[b.size()];
}

}  // namespace

std::string_view nearest_word(std::string_view word, std::span<const std::string_view> known) {
  if (word.empty() || word.size() > longest_word) return {};
  const int allowed = slip * std::max(1, static_cast<int>(word.size()) / 3);
  int best = allowed + 1;
  std::string_view nearest;
  for (std::string_view candidate : known) {
    if (candidate.empty() || candidate.size() > longest_word) continue;
    const int cost = distance(word, candidate);
    const bool nothing_left = cost >= slip * static_cast<int>(std::max(word.size(), candidate.size()));
    if (cost >= best || nothing_left) continue;
    best = cost;
    nearest = candidate;
  }
  return nearest;
}

}  // namespace standfast
