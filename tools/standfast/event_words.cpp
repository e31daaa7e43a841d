#include "tools/standfast/event_words.hpp"

#include <algorithm>
#include <charconv>

#include "config/time_text.hpp"
#include "daemon/core/cause.hpp"
#include "daemon/panel/shown.hpp"
#include "daemon/panel/shown_limits.hpp"
#include "daemon/record/names.hpp"

namespace standfast::client {
namespace {

using Row = const RecordLine&;
using With = const Telling&;

std::string spaced(std::string name) {
  std::replace(name.begin(), name.end(), '_', ' ');
  return name;
}

std::string level_word(const std::string& level) {
  if (level == "none") return "within limits";
  std::string word = level;
  std::transform(word.begin(), word.end(), word.begin(), [](char c) { return c >= 'a' && c <= 'z' ? static_cast<char>(c - 32) : c; });
  return word;
}

// The words of a code; the code itself where a newer program wrote it.
std::string cause_words(const std::string& code) {
  for (int i = 0; i < cause_count; ++i)
    if (entry_of(static_cast<Cause>(i)).code == code) return std::string(entry_of(static_cast<Cause>(i)).text);
  return code;
}

std::string behind(const std::string& lead, const std::string& text) { return text.empty() ? text : lead + text; }

std::string persons(const std::string& one, const std::string& other) {
  return one.empty() ? behind("by ", other) : "by " + one + behind(" and ", other);
}

std::optional<Dimension> dimension_of(std::string_view text) {
  Dimension dimension;
  for (const auto& [tail, per] : {std::pair{std::string_view{" per second"}, Per::second}, {" per decade", Per::decade}})
    if (text.ends_with(tail)) {
      dimension.per = per;
      text.remove_suffix(tail.size());
    }
  const auto base = record::named<Base>(text);
  if (!base) return std::nullopt;
  dimension.base = *base;
  return dimension;
}

// A number of an alarm as the screen shows it; empty where there is none.
std::string amount_words(Row row, std::string_view column, With with) {
  const std::string text = row[column];
  const auto dimension = dimension_of(row["dimension"]);
  double si = 0;
  if (text.empty() || !dimension || std::from_chars(text.data(), text.data() + text.size(), si).ec != std::errc{}) return {};
  const Limit* limit = with.job ? limit_named(with.job->plan, row["subject"]) : nullptr;
  const Sign sign = limit && goes_both_ways(limit->of) ? Sign::both : Sign::minus;
  return Shown{with.job ? &with.job->rig : nullptr}.text(Amount{*dimension, si}, sign);
}

std::string all_circuits(With with) {
  std::string names;
  if (with.job)
    for (const Circuit& circuit : with.job->rig.circuits) names += behind(" ", circuit.name);
  return names;
}

struct Wish { const char* act; const char* words; };
// `#` stands for the object, `=` for the value.
constexpr Wish wishes[] = {
    {"acknowledge", "acknowledge #"}, {"silence", "silence the sounder ="}, {"reset", "reset #"},
    {"permit_give", "give the # permit ="}, {"permit_end", "end the permit"}, {"stage_enter", "enter stage #"},
    {"stage_propose", "propose for approval"}, {"stage_approve", "approve"}, {"stage_abandon", "abandon the stage"},
    {"stage_skip", "skip stage #"}, {"accept_uncertain", "use instrument # in spite of its doubt"},
    {"prove_start", "begin proof #"}, {"prove_end", "end proof # ="}, {"zero_propose", "set nought of #"},
    {"zero_approve", "approve nought of #"},
    {"swap_begin", "swap instrument #, certificate ="}, {"swap_prove", "prove swapped instrument #: ="},
    {"swap_approve", "approve swapped instrument #"}, {"swap_abandon", "give up the swap of #"},
    {"enter_note", "enter #: ="}, {"enter_reading", "enter the reading of #: ="},
    {"offer", "offer the files of revision ="},
    {"adopt", "put revision = in force"}, {"shift_end", "end the shift"}};

std::string alarm_object(const std::string& object) { return object.empty() || object == "all" ? "every alarm" : "alarm " + object; }

std::string wish_words(Row row) {
  const auto wish = std::find_if(std::begin(wishes), std::end(wishes), [&](const Wish& each) { return row["act"] == each.act; });
  if (wish == std::end(wishes)) return spaced(row["act"]) + behind(" ", row["object"]) + behind(" ", row["value"]);
  const bool of_alarms = row["act"] == "acknowledge" || row["act"] == "reset";
  std::string words;
  for (const char* c = wish->words; *c; ++c) {
    if (*c == '#') words += of_alarms ? alarm_object(row["object"]) : row["object"];
    else if (*c == '=') words += row["value"];
    else words += *c;
  }
  words.erase(words.find_last_not_of(' ') + 1);
  return words;
}

std::string how_it_stands(const std::string& from, const std::string& to, const std::string& by) {
  if (to == "unacknowledged") return from == "normal" ? "came" : "came again";
  if (to == "acknowledged") return "was acknowledged" + behind(" by ", by);
  if (to == "returned_unacknowledged") return "is gone, not acknowledged yet";
  if (to == "latched_unacknowledged") return "is gone, and stands until it is acknowledged and reset";
  if (to == "latched_acknowledged")
    return (from == "acknowledged" ? "is gone" : "was acknowledged" + behind(" by ", by)) + ", and stands until it is reset";
  if (to == "out_of_service") return "was taken out of service" + behind(" by ", by);
  if (from == "latched_acknowledged") return "was reset" + behind(" by ", by);
  if (from == "returned_unacknowledged") return "was acknowledged" + behind(" by ", by) + ", and is over";
  return "is over";
}

std::string how_it_went_on(const std::string& from, const std::string& to) {
  const bool on_its_way = from == "observation" || from == "criteria_met" || from == "awaiting_approval";
  if (to == "running") return from == "approved" ? "begins" : on_its_way ? "has left its band" : "was entered";
  if (to == "observation")
    return from == "running" ? "reached its load, the observation period runs" : "observes again, a criterion is no longer met";
  if (to == "criteria_met") return "has met every criterion";
  if (to == "awaiting_approval") return "was proposed for approval";
  return "was " + spaced(to);
}

}  // namespace

std::string start_words(Row row, With) {
  return "the daemon started on " + row["host"] + ", start " + row["number"] + " on this record, software " + row["software"];
}

std::string in_force_words(Row row, With) { return "revision " + row["revision"] + " of rig and plan came into force"; }

std::string signal_words(Row row, With) {
  const std::string why = row["subject"].empty() ? std::string() : ": " + row["subject"] + ", " + cause_words(row["cause"]);
  return "the signal is " + level_word(row["to_level"]) + ", was " + level_word(row["from_level"]) + why;
}

std::string alarm_words(Row row, With with) {
  std::string words = "alarm " + row["number"] + " (" + level_word(row["level"]) + ", " + row["subject"] + ") ";
  words += how_it_stands(row["from_state"], row["to_state"], row["by"]);
  if (row["to_state"] != "unacknowledged") return words;
  words += ": " + cause_words(row["cause"]);
  const std::string value = amount_words(row, "value", with), bound = amount_words(row, "bound", with);
  words += behind(", at ", value) + behind(", limit ", bound);
  if (row["first_out"] == "1") words += "; it was the first";
  return words;
}

std::string permit_words(Row row, With with) {
  std::string what = row["kind"] + " permit ";
  std::replace(what.begin(), what.end(), '_', '-');
  const std::string where = behind(" in stage ", row["stage"]) + behind(", step ", row["step"]);
  if (row["given"] != "1")
    return what + "ended" + where + ": " + cause_words(row["cause"]) + behind(", by ", row["by"]);
  const bool by_circuit = row["kind"] != "recover" && row["kind"] != "commission";
  const std::string circuits = row["circuits"].empty() ? all_circuits(with) : " " + row["circuits"];
  return what + "given " + persons(row["by"], row["second"]) + (by_circuit ? " for circuits" : ":") + circuits + where;
}

std::string stage_words(Row row, With) {
  std::string words = "stage " + row["stage"] + behind(", step ", row["step"]) + " ";
  words += how_it_went_on(row["from_state"], row["to_state"]);
  return words + behind(" ", persons(row["by"], row["second"]));
}

std::string act_words(Row row, With) {
  const bool claimed = row["verified"] == "0" && !(row["person"].empty() && row["second_person"].empty());
  std::string who = row["person"].empty() ? "somebody" : row["person"] + behind(" (", row["role"]) + ")";
  who += behind(" and ", row["second_person"]);
  if (!row["second_person"].empty()) who += behind(" (", row["second_role"]) + ")";
  std::string words = who + (row["act"] == "stop" ? " called STOP" : " asked to " + wish_words(row));
  words += behind(", because: ", row["reason"]);
  return words + (claimed ? "; names not verified" : "");
}

std::string answer_words(Row row, With) {
  const std::string text = row["text"] == "done" ? std::string() : row["text"];
  return (row["accepted"] == "1" ? "it was done" : "it was refused") + behind(": ", text);
}

std::string notice_words(Row row, With) {
  std::string code = row["code"];
  std::replace(code.begin(), code.end(), '-', ' ');
  return code + behind(": ", row["text"]);
}

std::string mark_words(Row row, With) {
  return "mark " + row["mark"] + " of " + row["point"] + " was taken, the mean of " + row["readings"] + " readings";
}

std::string proof_words(Row row, With) {
  return "proof " + row["proof"] + (row["passed"] == "1" ? " was passed" : " failed") + behind(": ", row["facts"]);
}

std::string gap_words(Row row, With with) {
  const std::int64_t from = row.number("from_wall_ns"), until = row.number("until_wall_ns");
  char lasted[40];
  std::snprintf(lasted, sizeof lasted, "%.1f s", static_cast<double>(until - from) / 1e9);
  std::string words = "nothing was recorded from " + with.time.full(WallTime{from}) + " until " + with.time.full(WallTime{until}) +
                      ", " + lasted + ": " + row["why"];
  return row["lost"] == "0" || row["lost"].empty() ? words : words + "; " + row["lost"] + " rows found no room";
}

std::string other_words(Row row, With) {
  const std::string kind = row["kind"];
  if (kind == "clock_step") return "the wall clock was set: " + row["detail"];
  if (kind == "record_health") return "the record's own state changed: " + row["detail"];
  if (kind == "queue_overflow") return "readings were lost, too many at once: " + row["detail"];
  if (kind == "engine_late") return "decisions came late: " + row["detail"];
  if (kind == "giving_not_durable") return "a permission was not on disk in time and was taken back: " + row["detail"];
  return {};
}

}  // namespace standfast::client
