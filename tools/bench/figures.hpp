// What all benchmarks do with their numbers: middle, tail, and a line in plain words.
#pragma once

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <vector>

namespace standfast::bench {

[[noreturn]] inline void give_up(const std::string& what) {
  std::fprintf(stderr, "%s\n", what.c_str());
  std::_Exit(1);  // Other threads may be at work.
}

// `part` of the figures lie below it; 0.5 is the median, 1 the largest. There must be at least one.
inline double percentile(std::vector<double> figures, double part) {
  const auto place = std::min(figures.size() - 1, static_cast<std::size_t>(part * static_cast<double>(figures.size())));
  std::ranges::nth_element(figures, figures.begin() + static_cast<std::ptrdiff_t>(place));
  return figures[place];
}

inline double median(const std::vector<double>& figures) { return percentile(figures, 0.5); }

// "0.31 (0.30 to 0.33)": the median, and between what the rounds lay.
inline std::string spread(const std::vector<double>& figures, int digits) {
  const auto [low, high] = std::ranges::minmax(figures);
  char text[120];
  std::snprintf(text, sizeof text, "%.*f (%.*f to %.*f)", digits, median(figures), digits, low, digits, high);
  return text;
}

}  // namespace standfast::bench
