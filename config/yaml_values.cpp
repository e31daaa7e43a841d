// The readers of yaml_fields.hpp for single values: texts, numbers, amounts, dates, names.
#include <algorithm>

#include "config/date_text.hpp"
#include "config/duration_text.hpp"
#include "config/quoted.hpp"
#include "config/source_text.hpp"
#include "config/unit_table.hpp"
#include "config/unit_text.hpp"
#include "config/yaml_fields.hpp"

namespace standfast {

namespace {

bool is_digit(char c) { return c >= '0' && c <= '9'; }
bool is_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }

std::size_t digits_from(std::string_view text, std::size_t start) {
  std::size_t end = start;
  while (end < text.size() && is_digit(text[end])) ++end;
  return end - start;
}

// digits, a point and digits, an exponent; at least one digit before or behind the point.
bool is_unsigned_float(std::string_view text) {
  const std::size_t whole = digits_from(text, 0);
  std::size_t i = whole;
  std::size_t fraction = 0;
  if (i < text.size() && text[i] == '.') {
    fraction = digits_from(text, i + 1);
    i += 1 + fraction;
  }
  if (whole + fraction == 0) return false;
  if (i < text.size() && (text[i] == 'e' || text[i] == 'E')) {
    ++i;
    if (i < text.size() && (text[i] == '+' || text[i] == '-')) ++i;
    const std::size_t exponent = digits_from(text, i);
    if (exponent == 0) return false;
    i += exponent;
  }
  return i == text.size();
}

// What YAML 1.2 (core schema, 10.3.2) takes for a number or a truth value where it stands without quotes.
bool reads_as_another_type(std::string_view text) {
  for (std::string_view word : {"true", "True", "TRUE", "false", "False", "FALSE", ".nan", ".NaN", ".NAN"}) {
    if (text == word) return true;
  }
  if (text.starts_with("0x") || text.starts_with("0o")) return true;
  const bool sign = !text.empty() && (text.front() == '-' || text.front() == '+');
  const std::string_view rest = text.substr(sign ? 1 : 0);
  return rest == ".inf" || rest == ".Inf" || rest == ".INF" || is_unsigned_float(rest);
}

bool refuse_quotes(const YamlNode& node, std::string_view expected, Complaints& complaints) {
  if (!node.quoted) return false;
  complaints.add("E-quoted", node.spot, quoted(node.text) + " stands in quotes",
                 {node.text, std::string{expected}, {}});
  return true;
}

void tell(const YamlNode& node, const TextError& error, Complaints& complaints) {
  complaints.add(error.code, node.spot, error.message, {node.text, error.expected, error.nearest});
}

bool has_control_character(std::string_view text) {
  for (std::size_t i = 0; i < text.size();) {
    const Utf8Character c = utf8_at(text, i);
    if (c.bytes == 0 || c.code_point < 0x20 || (c.code_point >= 0x7F && c.code_point < 0xA0)) return true;
    i += static_cast<std::size_t>(c.bytes);
  }
  return false;
}

}  // namespace

std::optional<std::string> read_text(const YamlNode* node, int most, Complaints& complaints) {
  const std::string expected = "a text of 1 to " + std::to_string(most) + " characters";
  const std::string* text = read_scalar(node, expected, complaints);
  if (text == nullptr) return std::nullopt;
  const auto refused = [&](std::string message, std::string wanted) {
    complaints.add("E-text", node->spot, std::move(message), {*text, std::move(wanted), {}});
    return std::nullopt;
  };
  if (!node->quoted && reads_as_another_type(*text))
    return refused(quoted(*text) + " reads as a number or as true or false", "the text in quotes: \"" + *text + "\"");
  const int length = characters_in(*text);
  if (length < 1) return refused("an empty text", expected);
  if (length > most) return refused("a text of " + std::to_string(length) + " characters", expected);
  if (text->front() == ' ' || text->back() == ' ')
    return refused("a text with a space at its end or in front", expected);
  if (has_control_character(*text)) return refused("a text with a control character in it", "printable text");
  return *text;
}

std::optional<std::string> read_wire_text(const YamlNode* node, Complaints& complaints) {
  const std::string* text = read_scalar(node, "a text of 1 to 80 bytes", complaints);
  if (text == nullptr) return std::nullopt;
  const bool wrong_type = !node->quoted && reads_as_another_type(*text);
  if (!wrong_type && !text->empty() && text->size() <= 80) return *text;
  complaints.add("E-text", node->spot,
                 wrong_type ? quoted(*text) + " reads as a number or as true or false"
                            : "a text of " + std::to_string(text->size()) + " bytes",
                 {*text, "a text of 1 to 80 bytes, in quotes", {}});
  return std::nullopt;
}

std::optional<bool> read_true_false(const YamlNode* node, Complaints& complaints) {
  const std::string* text = read_scalar(node, "true or false", complaints);
  if (text == nullptr || refuse_quotes(*node, "true or false, without quotes", complaints)) return std::nullopt;
  if (*text == "true") return true;
  if (*text == "false") return false;
  complaints.add("E-true-false", node->spot, quoted(*text) + " is neither true nor false",
                 {*text, "true or false", {}});
  return std::nullopt;
}

std::optional<double> read_number(const YamlNode* node, Complaints& complaints) {
  const std::string* text = read_scalar(node, "a number, as in '12.5'", complaints);
  if (text == nullptr || refuse_quotes(*node, "the number without quotes", complaints)) return std::nullopt;
  const auto number = parse_number(*text);
  if (number) return *number;
  tell(*node, number.error(), complaints);
  return std::nullopt;
}

std::optional<int> read_whole(const YamlNode* node, int least, int most, Complaints& complaints) {
  const auto number = read_number(node, complaints);
  if (!number) return std::nullopt;
  const std::string& text = node->text;
  const bool whole = text.find('.') == std::string::npos;
  if (whole && *number >= least && *number <= most) return static_cast<int>(*number);
  complaints.add("E-whole-number", node->spot, quoted(text) + (whole ? " is out of range" : " is not a whole number"),
                 {text, "a whole number from " + std::to_string(least) + " to " + std::to_string(most), {}});
  return std::nullopt;
}

std::optional<std::string> read_date(const YamlNode* node, Complaints& complaints) {
  const std::string* text = read_scalar(node, "a date, as in 2027-03-01", complaints);
  if (text == nullptr) return std::nullopt;
  if (is_date(*text)) return *text;
  complaints.add("E-date", node->spot, quoted(*text) + " is not a date of the calendar",
                 {*text, "year, month, day, as in 2027-03-01", {}});
  return std::nullopt;
}

bool check_name(std::string_view name, Spot spot, Complaints& complaints) {
  // Words of the quantities: `load total` must not be a jack's load.
  constexpr std::string_view reserved[] = {"total",  "circuit", "group", "left", "lost",
                                           "change", "ratio",   "rate",  "all"};
  const auto allowed = [](char c) { return is_letter(c) || is_digit(c) || c == '_' || c == '-'; };
  const bool good = !name.empty() && name.size() <= 24 && is_letter(name.front()) &&
                    std::all_of(name.begin(), name.end(), allowed) && !reads_as_another_type(name) &&
                    std::find(std::begin(reserved), std::end(reserved), name) == std::end(reserved);
  if (good) return true;
  complaints.add("E-name", spot, quoted(name) + " is not a name",
                 {std::string{name},
                  "1 to 24 letters, digits, '_' or '-', the first a letter; not total, circuit, group, left, lost, "
                  "change, ratio, rate or all",
                  {}});
  return false;
}

std::optional<double> read_amount(const YamlNode* node, Dimension wanted, Complaints& complaints,
                                  const Within& within) {
  const std::string* text = read_scalar(node, "an amount with its unit", complaints);
  if (text == nullptr) return std::nullopt;
  const auto amount = parse_amount(*text, wanted);
  if (!amount) {
    tell(*node, amount.error(), complaints);
    return std::nullopt;
  }
  const bool too_low = within.least && exceeds({wanted, *within.least}, *amount);
  const bool too_high = within.most && exceeds(*amount, {wanted, *within.most});
  if (!too_low && !too_high) return amount->si;
  complaints.add("E-amount-range", node->spot, quoted(*text) + " makes no sense here",
                 {*text, std::string{within.text}, {}});
  return std::nullopt;
}

std::optional<double> read_above_zero(const YamlNode* node, Dimension wanted, Complaints& complaints) {
  return read_amount(node, wanted, complaints, {grid_step(wanted), std::nullopt, "an amount above 0"});
}

std::optional<Duration> read_duration(const YamlNode* node, Duration least, Duration most, Complaints& complaints) {
  const std::string* text = read_scalar(node, "a time with its unit, as in '200 ms'", complaints);
  if (text == nullptr) return std::nullopt;
  const auto duration = parse_duration(*text);
  if (!duration) {
    tell(*node, duration.error(), complaints);
    return std::nullopt;
  }
  if (*duration >= least && *duration <= most) return *duration;
  complaints.add("E-amount-range", node->spot, quoted(*text) + " makes no sense here",
                 {*text, "from " + duration_text(least) + " to " + duration_text(most), {}});
  return std::nullopt;
}

std::optional<AnyAmount> read_any_amount(const YamlNode* node, Complaints& complaints) {
  constexpr std::string_view form = "number, space, unit, as in '150 mm' or '700 bar'";
  const std::string* text = read_scalar(node, form, complaints);
  if (text == nullptr) return std::nullopt;
  const std::size_t space = text->find(' ');
  const auto dimension = space == std::string::npos ? std::nullopt : dimension_of_unit(text->substr(space + 1));
  const Dimension wanted = dimension.value_or(Dimension{Base::length, Per::none});
  const auto amount = parse_amount(*text, wanted);
  if (amount) return AnyAmount{wanted, amount->si};
  TextError error = amount.error();
  if (!dimension) error.expected = form;
  tell(*node, error, complaints);
  return std::nullopt;
}

}  // namespace standfast
