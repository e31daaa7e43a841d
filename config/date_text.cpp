#include "config/date_text.hpp"

namespace standfast {
namespace {

bool is_digit(char c) { return c >= '0' && c <= '9'; }

int days_in(int year, int month) {
  constexpr int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  const bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
  return days[month - 1] + (month == 2 && leap ? 1 : 0);
}

}  // namespace

bool is_date(std::string_view text) {
  if (text.size() != 10 || text[4] != '-' || text[7] != '-') return false;
  for (const std::size_t i : {0u, 1u, 2u, 3u, 5u, 6u, 8u, 9u}) {
    if (!is_digit(text[i])) return false;
  }
  const auto two = [&](std::size_t i) { return (text[i] - '0') * 10 + (text[i + 1] - '0'); };
  const int month = two(5), day = two(8);
  return month >= 1 && month <= 12 && day >= 1 && day <= days_in(two(0) * 100 + two(2), month);
}

}  // namespace standfast
