// limits, alarms, readings: parts of the newest picture as lists.
#include <algorithm>
#include <iostream>

#include "config/nearest_word.hpp"
#include "tools/standfast/columns.hpp"
#include "tools/standfast/commands.hpp"
#include "tools/standfast/deed_words.hpp"
#include "tools/standfast/json_text.hpp"
#include "tools/standfast/local_time.hpp"
#include "tools/standfast/screen.hpp"
#include "tools/standfast/talk.hpp"

namespace standfast::client {
namespace {

namespace json = boost::json;

int tell_json(const json::object& picture, const char* part, const json::array& list) {
  const json::object answer{{"schema", std::string("standfast-") + part + "-1"},
                            {"time", picture.at("time")},
                            {"picture", picture.at("picture")},
                            {"simulated", truth_at(object_at(picture, "job"), "simulated")},
                            {part, list}};
  std::cout << json::serialize(answer) << '\n';
  return done;
}

std::string bounds_of(const json::object& limit, std::string_view level) {
  const json::object& at = object_at(limit, level);
  const std::string above = shown_at(at, "above"), below = shown_at(at, "below");
  if (above.empty() || below.empty()) return above + below;
  const auto unsigned_of = [](const std::string& text) { return text.substr(text.find_first_not_of("+-")); };
  if (unsigned_of(above) == unsigned_of(below)) return "beyond " + unsigned_of(above);
  const std::size_t unit = below.rfind(' ');
  return (above.ends_with(below.substr(unit)) ? below.substr(0, unit) : below) + " to " + above;
}

std::string spaced(std::string name) {
  std::replace(name.begin(), name.end(), '_', ' ');
  return name;
}

// The longest share of its persist time that a level has filled and not yet tripped by.
std::string pending_of(const json::object& limit) {
  for (const char* level : {"stop", "hold", "review"}) {
    const json::object& at = object_at(limit, level);
    if (truth_at(at, "active"))
      return std::string(level == std::string("stop") ? "STOP" : level == std::string("hold") ? "HOLD" : "REVIEW");
    if (number_at(at, "filled_ms") > 0) return text_at(at, "filled_ms") + " of " + text_at(at, "persist_ms") + " ms";
  }
  return {};
}

std::string beyond_of(const json::object& limit) {
  if (!truth_at(limit, "in_force")) return "not in force";
  std::string words;
  for (const std::string& each : {pending_of(limit), cannot_exclude_words(limit), by_hand_words(object_at(limit, "value"))})
    words += (words.empty() || each.empty() ? "" : ", ") + each;
  return words;
}

// What it is, why it came, what to do: three lines that fit a terminal of 80 columns.
std::string alarm_text(const json::object& alarm, const LocalTime& time) {
  std::string level = text_at(alarm, "level");
  std::transform(level.begin(), level.end(), level.begin(), [](char c) { return static_cast<char>(c - 32); });
  std::string why = text_at(alarm, "why");
  if (alarm.contains("value")) why += ", at " + shown_at(alarm, "value");
  if (alarm.contains("bound")) why += ", limit " + shown_at(alarm, "bound");
  return right(text_at(alarm, "number"), 3) + " " + left(level, 6) + " " + text_at(alarm, "subject") +
         (truth_at(alarm, "first_out") ? "  (the first)" : "") + "\n           since " + time.clock(text_at(alarm, "since")) + ": " +
         why + "\n           " + spaced(text_at(alarm, "state")) + "; reset: " + text_at(alarm, "reset_by") + "; " +
         text_at(alarm, "what_to_do") + "\n";
}

// STOP, HOLD, REVIEW; within a level the newest first.
std::vector<const json::object*> by_level(const json::array& list) {
  std::vector<const json::object*> alarms;
  for (const json::value& each : list) alarms.push_back(&each.as_object());
  const auto rank = [](const json::object& alarm) {
    const std::string level = text_at(alarm, "level");
    return level == "stop" ? 0 : level == "hold" ? 1 : 2;
  };
  std::stable_sort(alarms.begin(), alarms.end(), [&](const auto* a, const auto* b) {
    if (rank(*a) != rank(*b)) return rank(*a) < rank(*b);
    if (text_at(*a, "since") != text_at(*b, "since")) return text_at(*a, "since") > text_at(*b, "since");
    return number_at(*a, "number") > number_at(*b, "number");
  });
  return alarms;
}

// Latched, so that somebody will have to say why it may go.
bool awaits_reset(const json::value& alarm) {
  const std::string level = text_at(alarm.as_object(), "level");
  return level == "hold" || level == "stop";
}

}  // namespace

int limits(const Arguments& arguments) {
  const json::object picture = picture_of(arguments);
  const json::array& list = array_at(picture, "limits");
  if (arguments.has("json")) return tell_json(picture, "limits", list);
  TableText table{
      {"limit", "now", "REVIEW", "HOLD", "STOP", "used", "beyond"}, {false, true, true, true, true, true, false}, {}};
  for (const json::value& each : list) {
    const json::object& limit = each.as_object();
    table.lines.push_back({text_at(limit, "name"), cell_words(object_at(limit, "value")), bounds_of(limit, "review"),
                           bounds_of(limit, "hold"), bounds_of(limit, "stop"),
                           limit.contains("used_pct") ? std::to_string(number_at(limit, "used_pct")) + " %" : "",
                           beyond_of(limit)});
    if (text_at(object_at(limit, "value"), "quality") == "bad") table.lines.back().back() += text_at(object_at(limit, "value"), "why");
  }
  std::cout << simulated_heading(picture) << text_of(table);
  return done;
}

std::string alarms_text(const json::array& list, const LocalTime& time) {
  std::string text;
  for (const json::object* alarm : by_level(list)) text += alarm_text(*alarm, time);
  return text;
}

int alarms(const Arguments& arguments) {
  const json::object picture = picture_of(arguments);
  const json::array& list = array_at(picture, "alarms");
  if (arguments.has("json")) return tell_json(picture, "alarms", list);
  std::cout << simulated_heading(picture) << (list.empty() ? "no open alarms\n" : "");
  std::cout << alarms_text(list, LocalTime{arguments});
  if (std::any_of(list.begin(), list.end(), awaits_reset)) std::cout << reset_reasons_words(picture) << '\n';
  return done;
}

// How each bus fared in the last whole minute.
std::string buses_text(const json::object& picture) {
  std::string text;
  for (const json::value& each : array_at(picture, "buses")) {
    const json::object& bus = each.as_object();
    const std::int64_t failed = number_at(bus, "failed"), asked = number_at(bus, "answered") + failed;
    text += "bus " + text_at(bus, "name") + ": " + std::to_string(asked) + " polls in the last whole minute, " +
            std::to_string(failed) + " failed";
    if (const std::int64_t unsent = number_at(bus, "unsent"); unsent > 0)
      text += ", " + std::to_string(unsent) + " were not sent: the line is full, or the machine late";
    text += "\n";
  }
  return text;
}

// Of a wire in seconds; of a person's reading as a clock, because hours count there.
std::string age_words(const json::object& channel, const json::object& reading) {
  if (!reading.contains("age_ms")) return {};
  const std::int64_t age = number_at(reading, "age_ms");
  if (!truth_at(channel, "by_hand")) return std::to_string(age / 1000) + " s";
  return clock_text(age) + (truth_at(channel, "overdue") ? " overdue" : "");
}

// Of each instrument asked for by name: whose word it is that it measures right.
std::string certificates_text(const json::array& channels) {
  std::string text;
  for (const json::value& each : channels) {
    const json::object& channel = each.as_object();
    const std::string number = text_at(channel, "certificate"), due = text_at(channel, "certificate_due");
    if (!number.empty()) text += text_at(channel, "name") + ": certificate " + number + (due.empty() ? "" : ", due " + due) + "\n";
  }
  return text;
}

int readings(const Arguments& arguments) {
  const json::object picture = picture_of(arguments);
  json::array wanted;
  std::vector<std::string_view> names;
  for (const json::value& each : array_at(picture, "channels")) {
    const json::object& channel = each.as_object();
    names.push_back(channel.at("name").as_string());
    const auto& chosen = arguments.operands;
    if (chosen.empty() || std::find(chosen.begin(), chosen.end(), text_at(channel, "name")) != chosen.end())
      wanted.push_back(each);
  }
  for (const std::string& name : arguments.operands) {
    if (std::find(names.begin(), names.end(), name) != names.end()) continue;
    const std::string near{nearest_word(name, names)};
    throw Trouble{bad_input,
                  "no channel '" + name + "' in the rig" + (near.empty() ? "" : "; did you mean '" + near + "'?")};
  }
  if (arguments.has("json")) return tell_json(picture, "readings", wanted);
  TableText table{{"channel", "reading", "age", "quality", "last", "lost", "bus", "why"},
                  {false, true, true, false, true, true, false, false},
                  {}};
  for (const json::value& each : wanted) {
    const json::object& channel = each.as_object();
    const json::object& reading = object_at(channel, "reading");
    std::string shown = text_at(reading, "quality") == "bad" ? "NO DATA" : text_at(reading, "text");
    if (truth_at(channel, "by_hand") && shown != "NO DATA") shown = hollow + shown;
    table.lines.push_back({text_at(channel, "name"), shown,
                           age_words(channel, reading), text_at(reading, "quality"), last_words(reading), text_at(channel, "lost"),
                           text_at(channel, "bus"), text_at(reading, "why")});
  }
  std::cout << simulated_heading(picture) << text_of(table);
  std::cout << (arguments.operands.empty() ? buses_text(picture) : certificates_text(wanted));
  return done;
}

}  // namespace standfast::client
