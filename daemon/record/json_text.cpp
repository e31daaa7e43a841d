#include "daemon/record/json_text.hpp"

#include <charconv>

namespace standfast::record {
namespace {

constexpr char hex[] = "0123456789abcdef";

void append_number(std::string& to, std::int64_t number) {
  char digits[24];
  const auto end = std::to_chars(digits, digits + sizeof digits, number).ptr;
  to.append(digits, end);
}

// `bytes_apart`: above ASCII too, each byte by itself.
void append_text(std::string& to, std::string_view text, bool bytes_apart) {
  to += '"';
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (c == '"' || c == '\\') {
      to += '\\';
      to += c;
    } else if (byte < 0x20 || byte == 0x7f || (bytes_apart && byte > 0x7e)) {
      to += "\\u00";
      to += hex[byte >> 4];
      to += hex[byte & 15];
    } else {
      to += c;
    }
  }
  to += '"';
}

template <class Number>
std::string numbers_text(std::span<const Number> numbers) {
  std::string text;
  text.reserve(2 + numbers.size() * 6);
  text += '[';
  for (const Number number : numbers) {
    if (text.size() > 1) text += ',';
    append_number(text, number);
  }
  text += ']';
  return text;
}

struct Cursor {
  std::string_view rest;

  bool take(std::string_view wanted) {
    if (!rest.starts_with(wanted)) return false;
    rest.remove_prefix(wanted.size());
    return true;
  }
  std::optional<std::int64_t> number() {
    std::int64_t value = 0;
    const auto [end, error] = std::from_chars(rest.data(), rest.data() + rest.size(), value);
    if (error != std::errc{}) return std::nullopt;
    rest.remove_prefix(static_cast<std::size_t>(end - rest.data()));
    return value;
  }
  std::optional<char> escaped() {  // Behind the backslash.
    if (take("\"")) return '"';
    if (take("\\")) return '\\';
    if (!take("u00") || rest.size() < 2) return std::nullopt;
    unsigned value = 0;
    const auto [end, error] = std::from_chars(rest.data(), rest.data() + 2, value, 16);
    if (error != std::errc{} || end != rest.data() + 2) return std::nullopt;
    rest.remove_prefix(2);
    return static_cast<char>(static_cast<unsigned char>(value));
  }
  std::optional<std::string> text() {
    if (!take("\"")) return std::nullopt;
    std::string out;
    while (!rest.empty() && rest[0] != '"') {
      if (take("\\")) {
        const auto c = escaped();
        if (!c) return std::nullopt;
        out += *c;
      } else {
        out += rest[0];
        rest.remove_prefix(1);
      }
    }
    if (!take("\"")) return std::nullopt;
    return out;
  }
  std::optional<JsonField> field() {
    if (take("true")) return JsonField{true};
    if (take("false")) return JsonField{false};
    if (rest.starts_with('"')) {
      auto value = text();
      if (!value) return std::nullopt;
      return JsonField{std::move(*value)};
    }
    const auto value = number();
    if (!value) return std::nullopt;
    return JsonField{*value};
  }
};

}  // namespace

std::string json_numbers(std::span<const std::uint16_t> numbers) { return numbers_text(numbers); }
std::string json_numbers(std::span<const std::uint8_t> numbers) { return numbers_text(numbers); }

std::string json_line(std::string_view bytes) {
  std::string text{"["};
  append_text(text, bytes, true);
  text += ']';
  return text;
}

std::string quoted_utf8(std::string_view text) {
  std::string quoted;
  append_text(quoted, text, false);
  return quoted;
}

std::string json_object(const JsonFields& fields) {
  std::string text{"{"};
  for (const auto& [name, field] : fields) {
    if (text.size() > 1) text += ',';
    append_text(text, name, false);
    text += ':';
    if (const auto* number = std::get_if<std::int64_t>(&field)) append_number(text, *number);
    else if (const auto* yes = std::get_if<bool>(&field)) text += *yes ? "true" : "false";
    else append_text(text, std::get<std::string>(field), false);
  }
  text += '}';
  return text;
}

std::optional<std::vector<std::uint16_t>> numbers_of(std::string_view json, std::uint16_t most) {
  Cursor cursor{json};
  std::vector<std::uint16_t> numbers;
  if (!cursor.take("[")) return std::nullopt;
  while (!cursor.take("]")) {
    if (!numbers.empty() && !cursor.take(",")) return std::nullopt;
    const auto number = cursor.number();
    if (!number || *number < 0 || *number > most) return std::nullopt;
    numbers.push_back(static_cast<std::uint16_t>(*number));
  }
  if (!cursor.rest.empty()) return std::nullopt;
  return numbers;
}

std::optional<std::string> line_of(std::string_view json) {
  Cursor cursor{json};
  if (!cursor.take("[")) return std::nullopt;
  auto text = cursor.text();
  if (!text || !cursor.take("]") || !cursor.rest.empty()) return std::nullopt;
  return text;
}

std::optional<JsonFields> object_of(std::string_view json) {
  Cursor cursor{json};
  JsonFields fields;
  if (!cursor.take("{")) return std::nullopt;
  while (!cursor.take("}")) {
    if (!fields.empty() && !cursor.take(",")) return std::nullopt;
    auto name = cursor.text();
    if (!name || !cursor.take(":")) return std::nullopt;
    auto field = cursor.field();
    if (!field) return std::nullopt;
    fields.emplace_back(std::move(*name), std::move(*field));
  }
  if (!cursor.rest.empty()) return std::nullopt;
  return fields;
}

}  // namespace standfast::record
