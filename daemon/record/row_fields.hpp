// Puts a row together and takes it apart, column by column in the order of its table.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "config/ensure.hpp"
#include "daemon/record/names.hpp"
#include "daemon/record/rows.hpp"

namespace standfast::record {

class PutFields {
 public:
  explicit PutFields(RecordTable table) { row_.table = table; }
  PutFields(RecordTable table, const Moment& moment) : PutFields{table} {
    number(moment.span).number(moment.at.ns).number(moment.wall.ns);
  }

  PutFields& number(std::int64_t value) { return put(value); }
  PutFields& flag(bool value) { return put(std::int64_t{value}); }
  PutFields& text(std::string_view value) { return put(std::string{value}); }
  PutFields& none() { return put(std::monostate{}); }
  PutFields& real(double value) {
    ENSURE(value - value == 0.0);
    return put(value == 0.0 ? 0.0 : value);  // Minus nought does not survive SQLite.
  }
  template <class Enum>
  PutFields& word(Enum value) { return text(name_of(value)); }
  PutFields& cause(Cause value) { return text(entry_of(value).code); }
  PutFields& dimension(Dimension value);

  Row done() && {
    ENSURE(row_.values.size() == column_count(row_.table) - 1);
    return std::move(row_);
  }
  static constexpr std::size_t column_count(RecordTable table) {
    std::size_t count = 1;
    for (const char c : entry_of(table).columns) count += c == ' ';
    return count;
  }

 private:
  PutFields& put(Value value) {
    row_.values.push_back(std::move(value));
    return *this;
  }
  Row row_;
};

// The first column that does not fit is kept; everything taken behind it is empty.
class TakeFields {
 public:
  explicit TakeFields(const Row& row) : row_{row} {}

  std::int64_t number() { return take<std::int64_t>("a whole number"); }
  std::string text() { return take<std::string>("text"); }
  bool flag() {
    const std::int64_t value = number();
    if (value != 0 && value != 1) fail("0 or 1");
    return value == 1;
  }
  std::optional<std::int64_t> number_or_none() {
    if (next_is_none()) return std::nullopt;
    return number();
  }
  std::optional<std::string> text_or_none() {
    if (next_is_none()) return std::nullopt;
    return text();
  }
  template <class Enum>
  Enum word() { return one_of<Enum>(text()); }
  template <class Enum>
  Enum one_of(std::string_view name) {
    const auto value = named<Enum>(name);
    if (!value) fail("a known word");
    return value.value_or(Enum{});
  }
  void fail(std::string_view expected);  // At the column taken last.
  const std::string& error() const { return error_; }

 private:
  template <class T>
  T take(std::string_view expected) {
    const Value* value = next_ < row_.values.size() ? &row_.values[next_] : nullptr;
    ++next_;
    if (value != nullptr && std::holds_alternative<T>(*value)) return std::get<T>(*value);
    fail(expected);
    return T{};
  }
  bool next_is_none() {
    const bool none = next_ < row_.values.size() && std::holds_alternative<std::monostate>(row_.values[next_]);
    if (none) ++next_;
    return none;
  }

  const Row& row_;
  std::size_t next_{0};
  std::string error_;
};

// The name of a column, counted from seq at 0.
std::string_view column_name(RecordTable table, std::size_t place);

}  // namespace standfast::record
