#include "tools/standfast/screen.hpp"

#include <algorithm>
#include <cstdio>

#include "tools/standfast/columns.hpp"
#include "tools/standfast/json_text.hpp"
#include "tools/standfast/screen_tables.hpp"

namespace standfast::client {
namespace {

namespace json = boost::json;
using Lines = std::vector<ScreenLine>;

constexpr std::size_t foot_height = 4;

// The right side whole, the left as far as there is room.
std::string both_sides(const std::string& one, const std::string& other) {
  const std::size_t room = screen_width - std::min(width_of(other) + 1, screen_width);
  return left(left(one, room) + " " + other, screen_width);
}

Ink ink_of(const std::string& level) {
  if (level == "stop") return Ink::stop;
  if (level == "hold") return Ink::hold;
  return level == "review" ? Ink::strong : Ink::plain;
}

// Where the headline names one instrument that is lost and others are lost too: how many of how many.
std::string lost_words(const json::object& picture, const std::string& subject) {
  std::size_t lost = 0;
  bool is_one = false;
  const json::array& channels = array_at(picture, "channels");
  for (const json::value& each : channels) {
    if (text_at(object_at(each.as_object(), "reading"), "quality") != "bad") continue;
    ++lost;
    is_one = is_one || "instrument " + text_at(each.as_object(), "name") == subject;
  }
  return is_one && lost > 1 ? std::to_string(lost) + " of " + std::to_string(channels.size()) + " instruments lost, " : "";
}

void add_band(Lines& lines, const json::object& picture, const LocalTime& time) {
  const json::object& signal = object_at(picture, "signal");
  const json::object& job = object_at(picture, "job");
  const std::string level = text_at(signal, "level"), word = text_at(signal, "word");
  if (!signal.contains("subject")) {
    lines.push_back({left(both_sides(word, "at " + time.clock(text_at(picture, "time"))), screen_width), Ink::plain});
    lines.push_back(
        {"by plan revision " + text_at(job, "plan_revision") + " of " + text_at(job, "engineer"), Ink::plain});
    lines.push_back({"", Ink::plain});
    return;
  }
  std::string what = lost_words(picture, text_at(signal, "subject")) + text_at(signal, "subject") + ": " + text_at(signal, "why");
  if (signal.contains("value")) what += " " + shown_at(signal, "value");
  if (signal.contains("bound")) what += ", limit " + shown_at(signal, "bound");
  const std::string since =
      "since " + time.clock(text_at(signal, "since")) + "  " + clock_text(number_at(signal, "for_ms"));
  const Ink ink = ink_of(level);
  lines.push_back({left(word + "  " + what, screen_width), ink});
  lines.push_back({left(both_sides(since, "reset: " + text_at(signal, "reset_by") + " "), screen_width), ink});
  lines.push_back({left(text_at(signal, "what_to_do"), screen_width), ink});
}

std::string silence_words(const json::object& picture) {
  const std::int64_t left_ms = number_at(object_at(picture, "outputs"), "sounder_silenced_ms");
  return left_ms > 0 ? "sounder silenced for " + clock_text(left_ms) + " more" : "";
}

void add_permit(Lines& lines, const json::object& picture) {
  const json::object& permit = object_at(picture, "permit");
  if (!truth_at(permit, "given")) {
    lines.push_back({silence_words(picture).empty() ? "NO PERMIT" : both_sides("NO PERMIT", silence_words(picture)), Ink::strong});
    return;
  }
  if (const std::string silent = silence_words(picture); !silent.empty()) lines.push_back({silent, Ink::plain});
  std::string kind = text_at(permit, "kind");
  std::transform(kind.begin(), kind.end(), kind.begin(),
                 [](char c) { return c >= 'a' && c <= 'z' ? static_cast<char>(c - 32) : c; });
  std::replace(kind.begin(), kind.end(), '_', '-');
  std::string words = "PERMIT: " + kind + (kind == "RECOVER" ? " " : " circuits ") + text_at(permit, "circuits");
  if (permit.contains("up_to")) words += " to " + shown_at(permit, "up_to");
  words += " by " + text_at(permit, "by");
  if (!text_at(permit, "second").empty()) words += ", " + text_at(permit, "second");
  lines.push_back({both_sides(words, "ends in " + clock_text(number_at(permit, "ends_in_ms"))), Ink::strong});
}

std::string spaced(std::string name) {
  std::replace(name.begin(), name.end(), '_', ' ');
  return name;
}

std::string due_words(const json::object& stage) {
  for (const json::value& each : array_at(stage, "criteria"))
    if (!truth_at(each.as_object(), "met"))
      return "wait: " + text_at(each.as_object(), "name") + "  " + text_at(each.as_object(), "facts");
  if (text_at(stage, "state") == "criteria_met") return "DUE: propose for approval";
  if (text_at(stage, "state") != "awaiting_approval") return {};
  std::string roles;
  for (const json::value& role : array_at(stage, "sign_off"))
    roles += (roles.empty() ? "" : ", ") + std::string(role.as_string());
  return "DUE: approval" + (roles.empty() ? std::string() : " of " + roles);
}

void add_stage(Lines& lines, const json::object& picture) {
  const json::object& job = object_at(picture, "job");
  const json::object& stage = object_at(picture, "stage");
  if (!truth_at(job, "in_force")) {
    lines.push_back({"no plan in force: " + text_at(job, "why_not"), Ink::plain});
    return;
  }
  if (!truth_at(stage, "any")) {
    lines.push_back({"no stage entered yet", Ink::plain});
    return;
  }
  const json::object& step = object_at(stage, "step");
  std::string where =
      "stage " + text_at(stage, "number") + " of " + text_at(stage, "of") + "  " + text_at(stage, "name");
  if (number_at(step, "of") > 1) where += ", step " + text_at(step, "number") + " of " + text_at(step, "of");
  if (!step.empty()) where += " (" + text_at(step, "percent") + ")";
  lines.push_back({both_sides(where, spaced(text_at(stage, "state"))), Ink::plain});
  if (number_at(step, "observe_ms") > 0 && !truth_at(step, "reached"))
    lines.push_back({"observation period of " + clock_text(number_at(step, "observe_ms")) + " begins when every load stands in its band",
                     Ink::plain});
  else if (number_at(step, "observe_ms") > 0)
    lines.push_back(
        {both_sides("observation period " + clock_text(number_at(step, "observed_ms")) + " of " +
                        clock_text(number_at(step, "observe_ms")) +
                        (truth_at(step, "in_band") ? "" : ", a load is outside its band"),
                    "reading sets " + text_at(step, "reading_sets") + " of " + text_at(step, "reading_sets_planned")),
         Ink::plain});
  if (const std::string due = due_words(stage); !due.empty()) lines.push_back({due, Ink::plain});
}

// Everything is counted; of what has no number the first is named, with the number it last had.
std::string instruments_words(const json::object& picture) {
  int good = 0, uncertain = 0, bad = 0;
  std::string first;
  for (const json::value& each : array_at(picture, "channels")) {
    const json::object& channel = each.as_object();
    const json::object& reading = object_at(channel, "reading");
    const std::string quality = text_at(reading, "quality"), last = last_words(reading);
    ++(quality == "good" ? good : quality == "uncertain" ? uncertain : bad);
    if (quality == "bad" && first.empty()) first = text_at(channel, "name") + " NO DATA" + (last.empty() ? "" : ", last " + last);
  }
  const std::string counts = std::to_string(good) + " good, " + std::to_string(uncertain) + " uncertain, " + std::to_string(bad) + " bad";
  return "instruments " + counts + (bad == 0 ? "" : ": " + first + (bad > 1 ? " ..." : ""));
}

std::string alarms_words(const json::object& picture) {
  const std::size_t count = array_at(picture, "alarms").size();
  return count == 0 ? "no alarm" : std::to_string(count) + (count == 1 ? " alarm" : " alarms");
}

void add_foot(Lines& lines, const json::object& picture, const LocalTime& time) {
  const json::object& record = object_at(picture, "record");
  const json::object& job = object_at(picture, "job");
  const json::object& outputs = object_at(picture, "outputs");
  const std::int64_t behind = number_at(record, "last_seq") - number_at(record, "durable_seq");
  const std::string words = (truth_at(outputs, "silent") ? "OUTPUT MODULE SILENT; " : "") + instruments_words(picture);
  lines.push_back({left(words, screen_width), Ink::plain});
  std::string kept = "record " + text_at(record, "state") + ", " + text_at(record, "durable_seq") + " rows on disk";
  if (behind > 0) kept += ", " + std::to_string(behind) + " waiting";
  if (!text_at(record, "unsigned").empty()) kept += ", NOT SIGNED";
  lines.push_back({left(both_sides(kept, alarms_words(picture) + ", picture " + text_at(picture, "picture")),
                        screen_width),
                   Ink::plain});
  std::string plan = truth_at(job, "in_force") ? text_at(job, "rig") + "  rev " + text_at(job, "plan_revision") + " " +
                                                     text_at(job, "plan_sha256").substr(0, 8)
                                               : "";
  if (truth_at(job, "simulated")) plan = "SIMULATED  " + plan;
  lines.push_back({both_sides(plan, time.clock(text_at(picture, "time"))), Ink::plain});
  lines.push_back({"An aid, not a safety-rated device. Nobody under a load held by hydraulics alone.", Ink::plain});
}

}  // namespace

Lines screen_of(const json::object& picture, const LocalTime& time) {
  const ScreenLine rule{std::string(screen_width, '-'), Ink::plain};
  Lines lines;
  add_band(lines, picture, time);
  lines.push_back(rule);
  add_permit(lines, picture);
  add_stage(lines, picture);
  add_jacks(lines, picture);
  add_limits(lines, picture, screen_height - foot_height - std::min(lines.size(), screen_height - foot_height));
  add_foot(lines, picture, time);
  return lines;
}

std::string screen_text(const Lines& lines, bool coloured) {
  std::string text;
  for (const ScreenLine& line : lines) text += inked(line.text, line.ink, coloured) + "\n";
  return text;
}

ExitCode status_code(const json::object& picture) {
  const json::array& channels = array_at(picture, "channels");
  const bool any_number = std::any_of(channels.begin(), channels.end(), [](const json::value& each) {
    return text_at(object_at(each.as_object(), "reading"), "quality") != "bad";
  });
  const std::string level = text_at(object_at(picture, "signal"), "level");
  if (!truth_at(object_at(picture, "job"), "in_force") || !any_number) return nothing_to_trust;
  if (level == "stop") return on_stop;
  if (level == "hold") return on_hold;
  return truth_at(object_at(picture, "permit"), "given") ? done : no_permit;
}

}  // namespace standfast::client
