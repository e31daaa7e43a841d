// events: what happened, in the order of the record. Readings are not events; `export` has them.
#include <algorithm>
#include <boost/json.hpp>
#include <iostream>

#include "config/time_text.hpp"
#include "tools/standfast/commands.hpp"
#include "tools/standfast/exit_code.hpp"
#include "tools/standfast/local_time.hpp"
#include "tools/standfast/record_lines.hpp"

namespace standfast::client {
namespace {

struct Happening {
  std::int64_t seq{0}, wall_ns{0};
  std::string kind, text;
};

std::string joined(std::initializer_list<std::string> words) {
  std::string all;
  for (const std::string& word : words)
    if (!word.empty()) all += (all.empty() ? "" : " ") + word;
  return all;
}

std::string upper(std::string word) {
  std::transform(word.begin(), word.end(), word.begin(),
                 [](char c) { return c >= 'a' && c <= 'z' ? static_cast<char>(c - 32) : c; });
  return word;
}

std::string in_front(const std::string& words, const std::string& text) { return text.empty() ? text : words + text; }

// One table of the record and how a row of it is told.
struct Source {
  const char* view;
  const char* kind;
  std::string (*tell)(const RecordLine&);
};
const Source sources[] = {
    {"span", "start",
     [](const RecordLine& r) {
       return joined({"start", r["number"], "of software", r["software"], "on", r["host"]});
     }},
    {"in_force", "job",
     [](const RecordLine& r) {
       return joined({"files of revision", r["revision"], "in force"});
     }},
    {"signal", "signal",
     [](const RecordLine& r) {
       return joined(
           {upper(r["from_level"]), "->", upper(r["to_level"]), r["subject"], in_front("cause ", r["cause"])});
     }},
    {"alarm", "alarm",
     [](const RecordLine& r) {
       return joined({r["number"], upper(r["level"]), r["subject"], in_front("cause ", r["cause"]),
                      r["from_state"] + " -> " + r["to_state"], r["first_out"] == "1" ? "FIRST" : "",
                      in_front("by ", r["by"])});
     }},
    {"permit", "permit",
     [](const RecordLine& r) {
       return joined({r["kind"], r["given"] == "1" ? "given" : "ended", r["circuits"], in_front("in ", r["stage"]),
                      r["step"], in_front("by ", r["by"]), in_front("and ", r["second"]),
                      in_front("because ", r["given"] == "1" ? "" : r["cause"])});
     }},
    {"stage", "stage",
     [](const RecordLine& r) {
       return joined({r["stage"], r["step"], r["from_state"] + " -> " + r["to_state"], in_front("by ", r["by"]),
                      in_front("and ", r["second"])});
     }},
    {"action", "act",
     [](const RecordLine& r) {
       return joined({r["act"], r["object"], r["value"], in_front("by ", r["person"]),
                      in_front("and ", r["second_person"]), in_front("because ", r["reason"])});
     }},
    {"answer", "answer",
     [](const RecordLine& r) {
       return joined({r["act"], r["accepted"] == "1" ? "done" : "refused", r["code"], r["text"]});
     }},
    {"notice", "notice",
     [](const RecordLine& r) {
       return joined({r["code"], r["text"]});
     }},
    {"mark", "mark",
     [](const RecordLine& r) {
       return joined({r["mark"], r["point"], "from", r["readings"], "readings"});
     }},
    {"proof", "proof",
     [](const RecordLine& r) {
       return joined({r["proof"], r["passed"] == "1" ? "passed" : "failed", r["facts"]});
     }},
    {"gap", "gap",
     [](const RecordLine& r) {
       return joined({"nothing was recorded:", r["why"], in_front("rows lost ", r["lost"])});
     }},
};

std::vector<Happening> happenings(const Arguments& arguments) {
  auto reader = open_record(arguments);
  const TimeRange range = time_range_of(arguments);
  std::vector<Happening> all;
  for (const Source& source : sources)
    each_line(reader, source.view, [&](const RecordLine& line) {
      const std::int64_t wall = line.number("wall_ns");
      if (range.holds(wall)) all.push_back({line.number("seq"), wall, source.kind, source.tell(line)});
    });
  std::sort(all.begin(), all.end(), [](const Happening& a, const Happening& b) { return a.seq < b.seq; });
  return all;
}

}  // namespace

int events(const Arguments& arguments) {
  const LocalTime time{arguments};
  for (const Happening& each : happenings(arguments)) {
    if (arguments.has("json"))
      std::cout << boost::json::serialize(boost::json::object{{"schema", "standfast-event-1"},
                                                              {"time", wall_time_text({each.wall_ns})},
                                                              {"seq", each.seq},
                                                              {"kind", each.kind},
                                                              {"text", each.text}})
                << '\n';
    else
      std::cout << time.full(WallTime{each.wall_ns}) << "  " << each.kind
                << std::string(8 - std::min<std::size_t>(7, each.kind.size()), ' ') << each.text << '\n';
  }
  return done;
}

}  // namespace standfast::client
