#include "config/line_values.hpp"

#include <algorithm>
#include <string>

#include "config/decimal.hpp"
#include "config/line_checksum.hpp"

namespace standfast {

namespace {

constexpr std::string_view hole = "{value}";
constexpr std::size_t most_digits = 15;

bool is_digit(char c) { return c >= '0' && c <= '9'; }

std::string_view take_digits(std::string_view& text) {
  const auto end = std::find_if_not(text.begin(), text.end(), is_digit);
  const std::string_view digits = text.substr(0, static_cast<std::size_t>(end - text.begin()));
  text.remove_prefix(digits.size());
  return digits;
}

void drop_spaces(std::string_view& text) { text.remove_prefix(std::min(text.find_first_not_of(' '), text.size())); }

char sign_of(DecimalMark mark) { return mark == DecimalMark::comma ? ',' : '.'; }

// Does what is left go on as a number? Then a part of one was read.
bool goes_on(DecimalMark mark, std::string_view text) { return !text.empty() && (is_digit(text[0]) || text[0] == sign_of(mark)); }

bool take_overload_word(const SerialLines& wire, std::string_view& text) {
  std::size_t longest = 0;
  for (const std::string& word : wire.overload_words)
    if (text.starts_with(word) && !goes_on(wire.decimal, text.substr(word.size()))) longest = std::max(longest, word.size());
  text.remove_prefix(longest);
  return longest > 0;
}

std::optional<double> take_number(DecimalMark mark, std::string_view& text) {
  const bool negative = text.starts_with('-');
  if (negative || text.starts_with('+')) text.remove_prefix(1);
  drop_spaces(text);
  const std::string_view whole = take_digits(text);
  std::string_view fraction;
  if (text.starts_with(sign_of(mark))) {
    text.remove_prefix(1);
    fraction = take_digits(text);
    if (fraction.empty()) return std::nullopt;
  }
  if (whole.empty() || whole.size() + fraction.size() > most_digits || goes_on(mark, text)) return std::nullopt;
  return nearest_double(
      decimal_of_digits(negative, std::string{whole} + std::string{fraction}, -static_cast<int>(fraction.size())));
}

std::optional<LineValues> fitted(const SerialLines& wire, std::string_view text) {
  LineValues values;
  std::string_view pattern = wire.answer;
  for (;;) {
    const std::size_t at = pattern.find(hole);
    const std::string_view literal = pattern.substr(0, at);
    if (!text.starts_with(literal)) return std::nullopt;
    text.remove_prefix(literal.size());
    if (at == std::string_view::npos) break;
    pattern.remove_prefix(at + hole.size());
    drop_spaces(text);
    std::optional<double> value;
    if (!take_overload_word(wire, text) && !(value = take_number(wire.decimal, text))) return std::nullopt;
    values.push_back(value);
  }
  if (!text.empty()) return std::nullopt;
  return values;
}

std::size_t holes_in(std::string_view pattern) {
  std::size_t count = 0;
  for (std::size_t at = pattern.find(hole); at != std::string_view::npos; at = pattern.find(hole, at + hole.size())) ++count;
  return count;
}

bool is_printable(char c) { return c >= ' ' && c <= '~'; }

}  // namespace

Result<LineValues, TextFault> line_values(const SerialLines& wire, std::string_view line) {
  const auto text = without_checksum(wire.checksum, line);
  if (!text) return Failure{TextFault::garbled};
  if (auto values = fitted(wire, *text)) return std::move(*values);
  std::string_view alone = *text;
  drop_spaces(alone);
  if (take_overload_word(wire, alone) && alone.find_first_not_of(' ') == std::string_view::npos)
    return LineValues(holes_in(wire.answer));
  return Failure{std::ranges::all_of(*text, is_printable) ? TextFault::other_text : TextFault::garbled};
}

}  // namespace standfast
