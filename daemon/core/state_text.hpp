// The engine's state as text and back, by walking every field in order: `visit` of each state struct names its fields,
// and this is all that knows how they are spelled. One line a leaf, `name value`; a struct between `{` and `}`, a list
// between `[count` and `]`. The same state gives the same bytes.
#pragma once

#include <array>
#include <charconv>
#include <concepts>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <type_traits>
#include <vector>

#include "config/ids.hpp"
#include "config/instant.hpp"
#include "config/units.hpp"

namespace standfast {

template <class T>
struct is_list : std::false_type {};
template <class T>
struct is_list<std::vector<T>> : std::true_type { static constexpr bool grows = true; };
template <class T, std::size_t N>
struct is_list<std::array<T, N>> : std::true_type { static constexpr bool grows = false; };

template <class T>
struct is_optional : std::false_type {};
template <class T>
struct is_optional<std::optional<T>> : std::true_type {};

template <class T>
concept Number = std::is_arithmetic_v<T> && !std::same_as<T, bool>;

std::string in_quotes(std::string_view text);
// Undoes `in_quotes`; none where the text is not in that form.
std::optional<std::string> out_of_quotes(std::string_view text);

class StateWriter {
 public:
  template <class T>
  void operator()(const char* name, T& field) {
    text_ += name;
    text_ += ' ';
    write(field);
  }
  const std::string& text() const { return text_; }

 private:
  void leaf(std::string_view value) { text_.append(value).push_back('\n'); }
  template <Number T>
  void number(T value) {
    char digits[40];
    const auto end = std::to_chars(digits, digits + sizeof digits, value).ptr;
    leaf({digits, static_cast<std::size_t>(end - digits)});
  }
  template <class T>
  void write(T& field) {
    if constexpr (std::same_as<T, bool>) leaf(field ? "yes" : "no");
    else if constexpr (std::is_enum_v<T>) number(static_cast<std::int64_t>(field));
    else if constexpr (Number<T>) number(field);
    else if constexpr (std::same_as<T, std::string>) leaf(in_quotes(field));
    else if constexpr (std::same_as<T, Instant> || std::same_as<T, Duration> || std::same_as<T, WallTime>) number(field.ns);
    else if constexpr (requires { field.number; field.at(); }) number(field.number);
    else if constexpr (std::same_as<T, Amount>) amount_field(field);
    else if constexpr (is_optional<T>::value) optional_field(field);
    else if constexpr (is_list<T>::value) list(field);
    else structure(field);
  }
  void amount_field(Amount& field) {
    text_ += "{\n";
    (*this)("base", field.dimension.base);
    (*this)("per", field.dimension.per);
    (*this)("si", field.si);
    leaf("}");
  }
  template <class T>
  void optional_field(T& field) {
    if (!field) return leaf("none");
    leaf("some");
    (*this)("value", *field);
  }
  template <class T>
  void list(T& field) {
    text_ += '[';
    number(field.size());
    for (std::size_t i = 0; i < field.size(); ++i) {
      if constexpr (std::same_as<typename T::value_type, bool>) {
        bool each = field[i];  // vector<bool> hands out proxies.
        (*this)("-", each);
      } else {
        (*this)("-", field[i]);
      }
    }
    leaf("]");
  }
  template <class T>
  void structure(T& field) {
    text_ += "{\n";
    field.visit(*this);
    leaf("}");
  }

  std::string text_;
};

class StateReader {
 public:
  explicit StateReader(std::string_view text) : rest_{text} {}

  template <class T>
  void operator()(const char* name, T& field) {
    if (!error_.empty()) return;
    const std::string_view line = next_line();
    const std::size_t space = line.find(' ');
    if (space == std::string_view::npos || line.substr(0, space) != name) return fail(name);
    read(name, line.substr(space + 1), field);
  }
  const std::string& error() const { return error_; }
  bool at_end() const { return rest_.empty(); }

 private:
  static constexpr std::size_t most_in_a_list = 1'000'000;

  void fail(std::string_view what) {
    if (error_.empty()) error_ = "line " + std::to_string(line_) + ": expected " + std::string(what);
  }
  std::string_view next_line() {
    ++line_;
    const std::size_t end = rest_.find('\n');
    if (end == std::string_view::npos) { rest_ = {}; return {}; }
    const std::string_view line = rest_.substr(0, end);
    rest_.remove_prefix(end + 1);
    return line;
  }
  void expect(std::string_view wanted) {
    if (error_.empty() && next_line() != wanted) fail(wanted);
  }
  template <Number T>
  void number(const char* name, std::string_view value, T& field) {
    const auto [end, error] = std::from_chars(value.data(), value.data() + value.size(), field);
    if (error != std::errc{} || end != value.data() + value.size()) return fail(name);
    if constexpr (std::is_floating_point_v<T>)
      if (field - field != 0) fail(name);  // Neither infinite nor NaN: nothing in the state is.
  }
  template <class T>
  void read(const char* name, std::string_view value, T& field) {
    if constexpr (std::same_as<T, bool>) {
      if (value != "yes" && value != "no") return fail(name);
      field = value == "yes";
    } else if constexpr (std::is_enum_v<T>) {
      std::int64_t n = 0;
      number(name, value, n);
      field = static_cast<T>(n);
    } else if constexpr (Number<T>) number(name, value, field);
    else if constexpr (std::same_as<T, std::string>) {
      auto text = out_of_quotes(value);
      if (!text) return fail(name);
      field = std::move(*text);
    } else if constexpr (std::same_as<T, Instant> || std::same_as<T, Duration> || std::same_as<T, WallTime>) number(name, value, field.ns);
    else if constexpr (requires { field.number; field.at(); }) number(name, value, field.number);
    else if constexpr (is_optional<T>::value) optional_field(name, value, field);
    else if constexpr (is_list<T>::value) list(name, value, field);
    else {
      if (value != "{") return fail(name);
      if constexpr (std::same_as<T, Amount>) {
        (*this)("base", field.dimension.base);
        (*this)("per", field.dimension.per);
        (*this)("si", field.si);
      } else {
        field.visit(*this);
      }
      expect("}");
    }
  }
  template <class T>
  void optional_field(const char* name, std::string_view value, T& field) {
    if (value == "none") return field.reset();
    if (value != "some") return fail(name);
    field.emplace();
    (*this)("value", *field);
  }
  template <class T>
  void list(const char* name, std::string_view value, T& field) {
    std::size_t count = 0;
    if (value.empty() || value[0] != '[') return fail(name);
    number(name, value.substr(1), count);
    if (count > most_in_a_list) return fail(name);
    if constexpr (is_list<T>::grows) field.assign(count, {});
    else if (count != field.size()) return fail(name);
    for (std::size_t i = 0; i < count && error_.empty(); ++i) {
      typename T::value_type each{};
      (*this)("-", each);
      field[i] = std::move(each);
    }
    expect("]");
  }

  std::string_view rest_;
  std::size_t line_{0};
  std::string error_;
};

}  // namespace standfast
