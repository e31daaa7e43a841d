#include "tools/standfast/json_text.hpp"

#include <algorithm>
#include <cstdio>

namespace standfast::client {
namespace json = boost::json;

std::string text_at(const json::object& object, std::string_view key) {
  const json::value* found = object.if_contains(key);
  if (!found || found->is_null()) return {};
  if (found->is_string()) return std::string{found->get_string()};
  return json::serialize(*found);
}

std::string shown_at(const json::object& object, std::string_view key) { return text_at(object_at(object, key), "text"); }

std::int64_t number_at(const json::object& object, std::string_view key, std::int64_t otherwise) {
  const json::value* found = object.if_contains(key);
  if (!found) return otherwise;
  if (found->is_double()) return static_cast<std::int64_t>(std::clamp(found->get_double(), -1e15, 1e15));
  json::error_code error;
  const auto number = found->to_number<std::int64_t>(error);
  return error ? otherwise : number;
}

bool truth_at(const json::object& object, std::string_view key) {
  const json::value* found = object.if_contains(key);
  return found && found->is_bool() && found->get_bool();
}

const json::object& object_at(const json::object& object, std::string_view key) {
  static const json::object none;
  const json::value* found = object.if_contains(key);
  return found && found->is_object() ? found->get_object() : none;
}

const json::array& array_at(const json::object& object, std::string_view key) {
  static const json::array none;
  const json::value* found = object.if_contains(key);
  return found && found->is_array() ? found->get_array() : none;
}

std::string cell_words(const json::object& reading) {
  if (text_at(reading, "quality") != "bad") return (reading.contains("by_hand_age_ms") ? hollow : "") + text_at(reading, "text");
  const std::string cause = text_at(reading, "cause");
  return cause == "filling" ? "filling" : cause == "mark-missing" ? "no mark yet" : "NO DATA";
}

std::string by_hand_words(const json::object& reading) {
  if (text_at(reading, "quality") == "bad" || !reading.contains("by_hand_age_ms")) return {};
  return "by hand " + clock_text(number_at(reading, "by_hand_age_ms")) + " ago";
}

std::string last_words(const json::object& reading) {
  const json::object& last = object_at(reading, "last");
  return last.empty() ? std::string() : text_at(last, "text") + ", " + clock_text(number_at(last, "age_ms")) + " ago";
}

std::string cannot_exclude_words(const json::object& limit) {
  if (!truth_at(limit, "in_force")) return {};
  if (truth_at(object_at(limit, "stop"), "cannot_exclude")) return "cannot exclude STOP";
  if (truth_at(object_at(limit, "hold"), "cannot_exclude")) return "cannot exclude HOLD";
  if (truth_at(object_at(limit, "review"), "cannot_exclude")) return "cannot exclude REVIEW";
  return {};
}

std::string clock_text(std::int64_t milliseconds) {
  const std::int64_t seconds = std::max<std::int64_t>(0, milliseconds) / 1000;
  char text[48];
  if (seconds < 3600) std::snprintf(text, sizeof text, "%d:%02d", static_cast<int>(seconds / 60), static_cast<int>(seconds % 60));
  else std::snprintf(text, sizeof text, "%lld:%02d:%02d", static_cast<long long>(seconds / 3600),
                     static_cast<int>(seconds / 60 % 60), static_cast<int>(seconds % 60));
  return text;
}

}  // namespace standfast::client
