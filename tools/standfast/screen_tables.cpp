#include "tools/standfast/screen_tables.hpp"

#include <algorithm>
#include <cmath>

#include "tools/standfast/columns.hpp"
#include "tools/standfast/json_text.hpp"

namespace standfast::client {
namespace {

namespace json = boost::json;
using Lines = std::vector<ScreenLine>;

constexpr std::size_t most_whole_jacks = 4, most_jack_lines = 8, half_screen = screen_width / 2;

// A number is shown whole or not at all: half a number is another number. One blank keeps it from its neighbour.
std::string number(const std::string& text, std::size_t width) {
  return width_of(text) < width ? right(text, width) : right("..", width);
}

// The unit of a quantity's text: what stands behind its last blank.
std::string unit_of(const std::string& text) {
  const std::size_t blank = text.rfind(' ');
  return blank == std::string::npos ? std::string() : text.substr(blank + 1);
}

// Without the unit that stands in the head of its column.
std::string bare(const std::string& text, const std::string& unit) {
  return !unit.empty() && text.ends_with(" " + unit) ? text.substr(0, text.size() - unit.size() - 1) : text;
}

bool is_bad(const json::object& reading) { return text_at(reading, "quality") == "bad"; }

std::string silent_for(const json::object& reading) {
  const json::object& last = object_at(reading, "last");
  return last.empty() ? "NO DATA" : "NO DATA for " + clock_text(number_at(last, "age_ms"));
}

// ---- Jacks ----

std::string first_unit(const json::array& jacks, const char* key, const char* target) {
  for (const json::value& each : jacks) {
    const json::object& reading = object_at(each.as_object(), key);
    if (!reading.empty() && !is_bad(reading)) return unit_of(text_at(reading, "text"));
    if (each.as_object().contains(target)) return unit_of(shown_at(each.as_object(), target));
  }
  return {};
}

// A share of next to nothing says nothing: the total must be ten times what is not known of it.
bool shares_mean_something(const json::array& jacks) {
  const json::object& total = object_at(jacks.back().as_object(), "load");
  const json::value* load = total.if_contains("si");
  const json::value* doubt = total.if_contains("uncertainty_si");
  return load && (!doubt || std::fabs(load->to_number<double>()) > 10 * doubt->to_number<double>());
}

struct JackColumns {
  std::string pressure_unit, load_unit;
  bool shares{false};
};

std::string silent_jack(const json::object& jack, std::size_t width) {
  const json::object& load = object_at(jack, "load");
  std::string text = silent_for(load);
  if (!object_at(load, "last").empty())
    text += ", last " + text_at(object_at(object_at(jack, "pressure"), "last"), "text") + ", " + text_at(object_at(load, "last"), "text");
  const std::string target = shown_at(jack, "target_pressure");
  if (!target.empty()) text += "; target " + target;
  return left(text, width);
}

std::string jack_line(const json::object& jack, const JackColumns& columns) {
  const auto cell = [&](const char* key, const std::string& unit, std::size_t width) {
    return number(bare(shown_at(jack, key), unit), width);
  };
  std::string line = left(text_at(jack, "name"), 6);
  if (is_bad(object_at(jack, "load"))) {
    line += "  " + silent_jack(jack, 60);
  } else {
    line += cell("pressure", columns.pressure_unit, 10) + cell("target_pressure", columns.pressure_unit, 9) +
            cell("to_go_pressure", columns.pressure_unit, 8) + cell("load", columns.load_unit, 10) +
            cell("target", columns.load_unit, 9) + cell("to_go", columns.load_unit, 8);
    const json::object& share = object_at(jack, "share");
    line += number(columns.shares && !is_bad(share) ? text_at(share, "text") : "", 8);
  }
  const json::object& travel = object_at(jack, "travel_left");
  return line + number(travel.empty() ? "" : cell_words(travel), 12);
}

std::string total_line(const json::object& total, const JackColumns& columns) {
  const bool part = number_at(total, "answering") < number_at(total, "parts");
  const std::string load = part ? text_at(total, "answering") + " of " + text_at(total, "parts") + " jacks"
                                : bare(shown_at(total, "load"), columns.load_unit);
  return left("total", 22) + number(load, 21) + number(bare(shown_at(total, "target"), columns.load_unit), 9) +
         number(part ? "" : bare(shown_at(total, "to_go"), columns.load_unit), 8);
}

// Half a line where there are many.
std::string half_jack(const json::object& jack) {
  const std::string name = left(text_at(jack, "name"), 5);
  if (is_bad(object_at(jack, "load"))) {
    const std::string last = text_at(object_at(object_at(jack, "pressure"), "last"), "text");
    return left(name + silent_for(object_at(jack, "load")) + (last.empty() ? "" : ", last " + last), half_screen);
  }
  const std::string to_go = shown_at(jack, "to_go_pressure");
  return name + number(shown_at(jack, "pressure"), 10) + (to_go.empty() ? std::string(14, ' ') : " to go" + number(to_go, 10)) +
         left(number(shown_at(jack, "load"), 10), half_screen - 31);
}

void add_halves(Lines& lines, const std::vector<std::string>& halves, std::size_t most, const char* what) {
  const std::size_t all = (halves.size() + 1) / 2, shown = std::min(all, most);
  for (std::size_t i = 0; i < shown; ++i) {
    const std::size_t second = 2 * i + 1, hidden = halves.size() - second;
    const bool cut = i + 1 == shown && all > shown;
    std::string other = second < halves.size() ? halves[second] : "";
    if (cut) other = "and " + std::to_string(hidden) + " more " + what;
    lines.push_back({left(halves[2 * i] + other, screen_width), Ink::plain});
  }
}

// ---- Limits ----

// The bound on the side that the value is nearer to.
std::string bound_of(const json::object& limit, std::string_view level) {
  const json::object& at = object_at(limit, level);
  const json::object& value = object_at(limit, "value");
  const json::value* now = value.contains("si") ? value.if_contains("si") : object_at(value, "last").if_contains("si");
  const bool downwards = now && at.contains("below") && (!at.contains("above") || now->to_number<double>() < 0);
  return shown_at(at, downwards ? "below" : "above");
}

std::string used_of(const json::object& limit) {
  return limit.contains("used_pct") ? std::to_string(number_at(limit, "used_pct")) + " %" : "";
}

struct Sorted {
  std::vector<const json::object*> points;  // Of each point the limit on its movement that is used most.
  std::vector<const json::object*> others;  // The rest, what is used most first.
  std::size_t in_force{0}, not_in_force{0};
};

Sorted sorted_limits(const json::object& picture) {
  Sorted sorted;
  std::vector<const json::object*> all;
  for (const json::value& each : array_at(picture, "limits")) {
    const bool counts = truth_at(each.as_object(), "in_force");
    ++(counts ? sorted.in_force : sorted.not_in_force);
    if (counts) all.push_back(&each.as_object());
  }
  std::stable_sort(all.begin(), all.end(),
                   [](const auto* a, const auto* b) { return number_at(*a, "used_pct", -1) > number_at(*b, "used_pct", -1); });
  for (const json::value& point : array_at(picture, "points")) {
    const std::string name = text_at(point.as_object(), "name");
    const auto nearest = std::find_if(all.begin(), all.end(), [&](const auto* limit) { return text_at(*limit, "point") == name; });
    sorted.points.push_back(nearest == all.end() ? nullptr : *nearest);
  }
  for (const json::object* limit : all)
    if (std::find(sorted.points.begin(), sorted.points.end(), limit) == sorted.points.end()) sorted.others.push_back(limit);
  return sorted;
}

constexpr std::size_t name_width = 33, now_width = 14, bound_width = 13, used_width = 7;  // "-0.004 mm/min" has 13.

// On which side a bound lies is plain from the value: its plus goes before its digits do.
std::string bound_cell(const json::object& limit, const char* level) {
  const std::string text = bound_of(limit, level);
  return number(width_of(text) >= bound_width && text.starts_with('+') ? text.substr(1) : text, bound_width);
}

// What cannot be excluded stands whole behind the name, which is cut for it.
std::string limit_line(const std::string& name, const json::object& limit) {
  constexpr std::size_t width = name_width;
  const std::string words = cannot_exclude_words(limit), by_hand = by_hand_words(object_at(limit, "value"));
  const std::string doubt = (by_hand.empty() ? "" : ", " + by_hand) + (words.empty() ? "" : ", " + words);
  const std::size_t room = width - 1 - width_of(doubt);
  const std::string shown = !doubt.empty() && width_of(name) > room ? left(name, room) : name;
  return left(shown + doubt, width) + number(cell_words(object_at(limit, "value")), now_width) + bound_cell(limit, "hold") +
         bound_cell(limit, "stop") + number(used_of(limit), used_width);
}

// A point that no limit in force watches says so; one without data says what it last was, and when.
std::string point_line(const json::object& point, const json::object* limit) {
  const std::string name = text_at(point, "name");
  if (!limit) return left(name + " since baseline", name_width) + number(cell_words(object_at(point, "highest")), now_width) +
                     "   no limit in force";
  const json::object& value = object_at(*limit, "value");
  const std::string last = is_bad(value) ? last_words(value) : "";
  if (!last.empty()) return limit_line(name + ", last " + last, *limit);
  return limit_line(cannot_exclude_words(*limit).empty() ? text_at(*limit, "name") : name, *limit);
}

std::string half_point(const json::object& point, const json::object* limit) {
  const std::string name = text_at(point, "name");
  if (!limit) return left(left(name, 10) + number(cell_words(object_at(point, "highest")), 11) + ", no limit", half_screen);
  if (!cannot_exclude_words(*limit).empty())
    return left(left(name, 10) + number(cell_words(object_at(*limit, "value")), 11) + ", cannot exclude", half_screen);
  const std::string hold = bound_of(*limit, "hold");
  return left(left(name, 10) + number(cell_words(object_at(*limit, "value")), 11) + " of " +
                  (hold.empty() ? bound_of(*limit, "stop") : hold) + number(used_of(*limit), 6),
              half_screen);
}

std::string limits_head(const Sorted& sorted, std::size_t shown) {
  std::string head = "limit (" + std::to_string(shown) + " shown of " + std::to_string(sorted.in_force) + " in force";
  if (sorted.not_in_force > 0) head += ", " + std::to_string(sorted.not_in_force) + " not";
  return left(head + ")", 44) + right("now", 3) + right("HOLD", bound_width) + right("STOP", bound_width) + right("used", used_width);
}

}  // namespace

void add_jacks(Lines& lines, const json::object& picture) {
  const json::array& jacks = array_at(picture, "jacks");
  if (jacks.empty()) return;
  const JackColumns columns{first_unit(jacks, "pressure", "target_pressure"), first_unit(jacks, "load", "target"),
                            shares_mean_something(jacks)};
  const std::size_t count = jacks.size() - 1;  // The last is the total.
  if (count <= most_whole_jacks) {
    lines.push_back({left("jack", 6) + right("gauge " + columns.pressure_unit, 10) + right("target", 9) + right("to go", 8) +
                         right("load " + columns.load_unit, 10) + right("target", 9) + right("to go", 8) + right("share", 8) +
                         right("travel left", 12),
                     Ink::strong});
    for (std::size_t i = 0; i < count; ++i) lines.push_back({left(jack_line(jacks[i].as_object(), columns), screen_width), Ink::plain});
  } else {
    lines.push_back({"jacks: at the gauge, to go there, load", Ink::strong});
    std::vector<std::string> halves;
    for (std::size_t i = 0; i < count; ++i) halves.push_back(half_jack(jacks[i].as_object()));
    add_halves(lines, halves, most_jack_lines, "jacks: `standfast readings`");
  }
  lines.push_back({left(total_line(jacks.back().as_object(), columns), screen_width), Ink::plain});
}

void add_limits(Lines& lines, const json::object& picture, std::size_t room) {
  const json::array& points = array_at(picture, "points");
  const Sorted sorted = sorted_limits(picture);
  if (points.size() + (sorted.others.empty() ? 0 : 1) > room) {
    std::vector<std::string> halves;
    for (std::size_t i = 0; i < points.size(); ++i) halves.push_back(half_point(points[i].as_object(), sorted.points[i]));
    return add_halves(lines, halves, room, "points: `standfast limits`");
  }
  if (room < 2 || (points.empty() && sorted.others.empty())) return;
  const std::size_t others = std::min(sorted.others.size(), room - 1 - points.size());
  const auto unwatched = static_cast<std::size_t>(std::count(sorted.points.begin(), sorted.points.end(), nullptr));
  lines.push_back({limits_head(sorted, points.size() - unwatched + others), Ink::strong});
  for (std::size_t i = 0; i < points.size(); ++i)
    lines.push_back({left(point_line(points[i].as_object(), sorted.points[i]), screen_width), Ink::plain});
  for (std::size_t i = 0; i < others; ++i)
    lines.push_back({limit_line(text_at(*sorted.others[i], "name"), *sorted.others[i]), Ink::plain});
}

}  // namespace standfast::client
