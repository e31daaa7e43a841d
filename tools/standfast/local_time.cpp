#include "tools/standfast/local_time.hpp"

#include <time.h>

#include <cstdio>

#include "config/time_text.hpp"
#include "config/unit_text.hpp"

namespace standfast::client {
namespace {

constexpr std::int64_t second_ns = 1'000'000'000, day_ns = 86'400 * second_ns;

tm parts_of(std::int64_t wall_ns) {
  const auto seconds = static_cast<time_t>(wall_ns / second_ns);
  tm parts{};
  ::gmtime_r(&seconds, &parts);
  return parts;
}

}  // namespace

int LocalTime::offset_minutes(WallTime at) const {
  if (utc_) return 0;
  const auto seconds = static_cast<time_t>(at.ns / second_ns);
  tm parts{};
  ::localtime_r(&seconds, &parts);
  return static_cast<int>(parts.tm_gmtoff / 60);
}

std::string LocalTime::clock(const std::string& rfc3339) const {
  const auto time = parse_wall_time(rfc3339);
  if (!time) return rfc3339;
  const tm parts = parts_of(time->ns + offset_minutes(*time) * 60 * second_ns);
  char text[48];
  std::snprintf(text, sizeof text, "%02d:%02d:%02d", parts.tm_hour, parts.tm_min, parts.tm_sec);
  return text;
}

std::string LocalTime::full(WallTime time) const {
  return utc_ ? wall_time_text(time) : wall_time_text(time, UtcOffset{offset_minutes(time)});
}

std::string LocalTime::full(const std::string& rfc3339) const {
  const auto time = parse_wall_time(rfc3339);
  return time ? full(*time) : rfc3339;
}

std::optional<WallTime> LocalTime::typed(const std::string& text, WallTime now) const {
  if (const auto time = parse_wall_time(text)) return *time;
  int hour = 0, minute = 0, second = 0, read = 0;
  const int size = static_cast<int>(text.size());
  const bool clock = (std::sscanf(text.c_str(), "%2d:%2d:%2d%n", &hour, &minute, &second, &read) == 3 && read == size) ||
                     (second = 0, std::sscanf(text.c_str(), "%2d:%2d%n", &hour, &minute, &read) == 2 && read == size);
  if (clock && hour >= 0 && hour < 24 && minute >= 0 && minute < 60 && second >= 0 && second < 60) {
    const std::int64_t offset = offset_minutes(now) * 60 * second_ns;
    const std::int64_t midnight = (now.ns + offset) / day_ns * day_ns - offset;
    return WallTime{midnight + ((hour * 60 + minute) * 60 + second) * second_ns};
  }
  if (!text.starts_with('-')) return std::nullopt;
  std::string ago = text.substr(1);
  const std::size_t unit = ago.find_first_not_of("0123456789");
  if (unit != std::string::npos && unit > 0 && ago[unit] != ' ') ago.insert(unit, " ");
  const auto duration = parse_duration(ago);
  return duration ? std::optional{WallTime{now.ns - duration->ns}} : std::nullopt;
}

}  // namespace standfast::client
