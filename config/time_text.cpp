#include "config/time_text.hpp"

#include <chrono>
#include <cstddef>
#include <cstdint>

namespace standfast {
namespace {

constexpr std::int64_t ns_per_second = 1'000'000'000;
constexpr std::int64_t seconds_per_day = 86'400;
constexpr int first_year = 1678, last_year = 2261;  // Whole years within 63 bits of nanoseconds around 1970.
constexpr int first_year_with_leap_seconds = 1972;

// Takes the text apart from the front; after the first misfit nothing fits any more.
class Scanner {
 public:
  explicit Scanner(std::string_view text) : rest_{text} {}

  // A number of exactly `count` digits.
  int digits(std::size_t count) {
    if (rest_.size() < count) fits_ = false;
    int value = 0;
    for (std::size_t i = 0; fits_ && i < count; ++i) value = value * 10 + digit_at(i);
    if (fits_) rest_.remove_prefix(count);
    return value;
  }
  void expect(char wanted, char also) {
    if (!next_is(wanted, also)) fits_ = false;
    if (fits_) rest_.remove_prefix(1);
  }
  void expect(char wanted) { expect(wanted, wanted); }
  bool next_is(char wanted, char also) const {
    return fits_ && !rest_.empty() && (rest_[0] == wanted || rest_[0] == also);
  }

  // One digit or more, as nanoseconds.
  std::int64_t fraction() {
    std::int64_t ns = 0, unit = ns_per_second / 10;
    std::size_t n = 0;
    for (; n < rest_.size() && rest_[n] >= '0' && rest_[n] <= '9'; ++n, unit /= 10) ns += unit * digit_at(n);
    if (n == 0) fits_ = false;
    rest_.remove_prefix(n);
    return ns;
  }
  bool done() const { return fits_ && rest_.empty(); }

 private:
  int digit_at(std::size_t i) {
    const bool digit = rest_[i] >= '0' && rest_[i] <= '9';
    fits_ = fits_ && digit;
    return digit ? rest_[i] - '0' : 0;
  }
  std::string_view rest_;
  bool fits_{true};
};

struct Fields {
  int year{0}, month{0}, day{0}, hour{0}, minute{0}, second{0};
  std::int64_t ns{0};
  int offset_hour{0}, offset_minute{0};
  bool west{false};
};

// date-time of RFC 3339 section 5.6, ranges not yet checked.
std::optional<Fields> scan_fields(std::string_view text) {
  Scanner scanner{text};
  Fields f;
  f.year = scanner.digits(4);
  scanner.expect('-');
  f.month = scanner.digits(2);
  scanner.expect('-');
  f.day = scanner.digits(2);
  scanner.expect('T', 't');
  f.hour = scanner.digits(2);
  scanner.expect(':');
  f.minute = scanner.digits(2);
  scanner.expect(':');
  f.second = scanner.digits(2);
  if (scanner.next_is('.', '.')) {
    scanner.expect('.');
    f.ns = scanner.fraction();
  }
  if (scanner.next_is('+', '-')) {
    f.west = scanner.next_is('-', '-');
    scanner.expect('+', '-');
    f.offset_hour = scanner.digits(2);
    scanner.expect(':');
    f.offset_minute = scanner.digits(2);
  } else {
    scanner.expect('Z', 'z');
  }
  return scanner.done() ? std::optional{f} : std::nullopt;
}

std::chrono::year_month_day date_of(int year, int month, int day) {
  return {std::chrono::year{year}, std::chrono::month{static_cast<unsigned>(month)},
          std::chrono::day{static_cast<unsigned>(day)}};
}

std::int64_t days_since_1970(std::chrono::year_month_day date) {
  return std::chrono::sys_days{date}.time_since_epoch().count();
}

std::chrono::year_month_day date_of_second(std::int64_t second) {
  const auto whole = std::chrono::floor<std::chrono::days>(std::chrono::seconds{second});
  return std::chrono::year_month_day{std::chrono::sys_days{whole}};
}

// May a leap second have this second behind it as the first of the next day?
bool begins_after_leap_second(std::int64_t second) {
  if (second % seconds_per_day != 0) return false;
  const auto last_day = date_of_second(second - 1);
  const bool half_year_ends = last_day.month() == std::chrono::June || last_day.month() == std::chrono::December;
  const bool month_ends = date_of_second(second).day() == std::chrono::day{1};
  return half_year_ends && month_ends && int(last_day.year()) >= first_year_with_leap_seconds;
}

std::string padded(std::int64_t value, std::size_t width) {
  const std::string digits = std::to_string(value);
  return digits.size() < width ? std::string(width - digits.size(), '0') + digits : digits;
}

// Of an instant already shifted into the zone in which it is shown.
std::string shown(std::int64_t milliseconds) {
  const std::chrono::milliseconds since{milliseconds};
  const auto day = std::chrono::floor<std::chrono::days>(since);
  const std::chrono::year_month_day date{std::chrono::sys_days{day}};
  const std::int64_t rest = (since - day).count();
  return padded(int(date.year()), 4) + "-" + padded(unsigned(date.month()), 2) + "-" + padded(unsigned(date.day()), 2) +
         "T" + padded(rest / 3'600'000, 2) + ":" + padded(rest / 60'000 % 60, 2) + ":" + padded(rest / 1'000 % 60, 2) +
         "." + padded(rest % 1'000, 3);
}

std::int64_t whole_milliseconds(WallTime time) {
  return std::chrono::floor<std::chrono::milliseconds>(std::chrono::nanoseconds{time.ns}).count();
}

bool in_years(int year) { return year >= first_year && year <= last_year; }

}  // namespace

Result<WallTime, std::string> parse_wall_time(std::string_view text) {
  const auto fields = scan_fields(text);
  if (!fields) return Failure{std::string{"not a time as in '2026-03-01T07:15:00Z'"}};
  const auto date = date_of(fields->year, fields->month, fields->day);
  if (!date.ok()) return Failure{std::string{"no such day"}};
  if (fields->hour > 23 || fields->minute > 59 || fields->second > 60)
    return Failure{std::string{"no such time of day"}};
  if (fields->offset_hour > 23 || fields->offset_minute > 59) return Failure{std::string{"no such offset from UTC"}};
  if (!in_years(fields->year)) return Failure{std::string{"year outside 1678 to 2261"}};
  const std::int64_t east = (fields->offset_hour * 60 + fields->offset_minute) * 60;
  const std::int64_t local =
      days_since_1970(date) * seconds_per_day + (fields->hour * 60 + fields->minute) * 60 + fields->second;
  const std::int64_t second = fields->west ? local + east : local - east;
  if (fields->second == 60 && !begins_after_leap_second(second)) {
    return Failure{std::string{"there was no leap second"}};
  }
  return WallTime{second * ns_per_second + fields->ns};
}

std::string wall_time_text(WallTime time) { return shown(whole_milliseconds(time)) + "Z"; }

std::string wall_time_text(WallTime time, UtcOffset offset) {
  const int size = offset.minutes < 0 ? -offset.minutes : offset.minutes;
  ENSURE(size < 24 * 60);
  return shown(whole_milliseconds(time) + std::int64_t{offset.minutes} * 60'000) + (offset.minutes < 0 ? "-" : "+") +
         padded(size / 60, 2) + ":" + padded(size % 60, 2);
}

std::optional<WallTime> parse_date(std::string_view text) {
  Scanner scanner{text};
  const int year = scanner.digits(4);
  scanner.expect('-');
  const int month = scanner.digits(2);
  scanner.expect('-');
  const int day = scanner.digits(2);
  const auto date = date_of(year, month, day);
  if (!scanner.done() || !date.ok() || !in_years(year)) return std::nullopt;
  return WallTime{days_since_1970(date) * seconds_per_day * ns_per_second};
}

}  // namespace standfast
