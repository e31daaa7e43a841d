#include "config/number_grammar.hpp"

#include <cstddef>
#include <string>

namespace standfast {
namespace {

bool is_digit(char c) { return c >= '0' && c <= '9'; }

std::size_t digits_in_front(std::string_view text) {
  std::size_t n = 0;
  while (n < text.size() && is_digit(text[n])) ++n;
  return n;
}

bool all_digits(std::string_view text) { return !text.empty() && digits_in_front(text) == text.size(); }

bool is_not_finite(std::string_view word) {
  std::string lower;
  for (char c : word) lower += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  if (!lower.empty() && lower.front() == '.') lower.erase(0, 1);
  return lower == "nan" || lower == "inf" || lower == "infinity";
}

// `1,000` and `12,345,678`: groups of three behind a first group that is not `0`.
bool looks_grouped(std::string_view text, char separator) {
  const std::size_t first = digits_in_front(text);
  if (first == 0 || first > 3 || text.front() == '0') return false;
  for (text.remove_prefix(first); !text.empty(); text.remove_prefix(4)) {
    if (text.front() != separator || digits_in_front(text.substr(1)) < 3) return false;
  }
  return true;
}

std::string_view reason_of_mark(std::string_view text, char mark) {
  switch (mark) {
    case ',': return looks_grouped(text, ',') ? "decimal comma or thousands separator" : "decimal comma";
    case '.': return "more than one point";
    case '\'':
    case '_':
    case ' ': return "thousands separator";
    case 'e':
    case 'E': return "exponent";
    case 'x':
    case 'X': return "hexadecimal";
    default: return {};
  }
}

// `text` has a digit in front and is not in the grammar.
std::string_view reason_behind_digits(std::string_view text) {
  const std::size_t whole = digits_in_front(text);
  std::string_view rest = text.substr(whole);
  if (rest.size() > 1 && rest.front() == '.' && is_digit(rest[1]))
    rest.remove_prefix(1 + digits_in_front(rest.substr(1)));
  if (rest == ".") return "no digit behind the point";
  if (rest.size() > 1 && (is_digit(rest[1]) || rest[1] == '-' || rest[1] == '+')) {
    const std::string_view reason = reason_of_mark(text, rest.front());
    if (!reason.empty()) return reason;
  }
  if (whole > 1 && text.front() == '0') return "leading zero";
  return "no space behind the number";
}

std::string_view reason_against(std::string_view text) {
  constexpr std::string_view true_minus = "\u2212";
  if (text.starts_with('+')) return "leading plus";
  if (text.starts_with(true_minus)) return "the minus sign is not '-'";
  if (text.starts_with('-')) text.remove_prefix(1);
  if (is_not_finite(text)) return "not a finite number";
  if (text.starts_with('.') && text.size() > 1 && is_digit(text[1])) return "no digit before the point";
  if (text.empty() || !is_digit(text.front())) return "no number in front";
  return reason_behind_digits(text);
}

}  // namespace

Result<Decimal, std::string_view> read_number(std::string_view text) {
  const bool negative = text.starts_with('-');
  const std::string_view unsigned_text = text.substr(negative ? 1 : 0);
  const std::size_t point = unsigned_text.find('.');
  const std::string_view whole = unsigned_text.substr(0, point);
  const std::string_view fraction = point == std::string_view::npos ? "" : unsigned_text.substr(point + 1);
  const bool in_grammar = all_digits(whole) && (point == std::string_view::npos || all_digits(fraction));
  if (!in_grammar) return Failure{reason_against(text)};
  if (whole.size() > 1 && whole.front() == '0') return Failure<std::string_view>{"leading zero"};
  return decimal_of_digits(negative, std::string(whole) + std::string(fraction), -static_cast<int>(fraction.size()));
}

}  // namespace standfast
