// events: what happened, in the order of the record. Readings are not events; `export` has them.
#include <algorithm>
#include <boost/json.hpp>
#include <iostream>

#include "config/time_text.hpp"
#include "daemon/service/job_folder.hpp"
#include "tools/standfast/commands.hpp"
#include "tools/standfast/deed_words.hpp"
#include "tools/standfast/event_words.hpp"
#include "tools/standfast/exit_code.hpp"
#include "tools/standfast/local_time.hpp"
#include "tools/standfast/record_lines.hpp"
#include "tools/standfast/talk.hpp"

namespace standfast::client {
namespace {

struct Happening {
  std::int64_t seq{0}, wall_ns{0};
  std::string kind, text, words;  // As the record has it; as a sentence.
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

// One table of the record, a row of it in the record's own words, and as a sentence.
struct Source {
  const char* view;
  const char* kind;
  std::string (*tell)(const RecordLine&);
  Sentence sentence;
};
const Source sources[] = {
    {"span", "start",
     [](const RecordLine& r) {
       return joined({"start", r["number"], "of software", r["software"], "on", r["host"]});
     },
     start_words},
    {"in_force", "job",
     [](const RecordLine& r) {
       return joined({"files of revision", r["revision"], "in force"});
     },
     in_force_words},
    {"signal", "signal",
     [](const RecordLine& r) {
       return joined(
           {upper(r["from_level"]), "->", upper(r["to_level"]), r["subject"], in_front("cause ", r["cause"])});
     },
     signal_words},
    {"alarm", "alarm",
     [](const RecordLine& r) {
       return joined({r["number"], upper(r["level"]), r["subject"], in_front("cause ", r["cause"]),
                      r["from_state"] + " -> " + r["to_state"], r["first_out"] == "1" ? "FIRST" : "",
                      in_front("by ", r["by"])});
     },
     alarm_words},
    {"permit", "permit",
     [](const RecordLine& r) {
       return joined({r["kind"], r["given"] == "1" ? "given" : "ended", r["circuits"], in_front("in ", r["stage"]),
                      r["step"], in_front("by ", r["by"]), in_front("and ", r["second"]),
                      in_front("because ", r["given"] == "1" ? "" : r["cause"])});
     },
     permit_words},
    {"stage", "stage",
     [](const RecordLine& r) {
       return joined({r["stage"], r["step"], r["from_state"] + " -> " + r["to_state"], in_front("by ", r["by"]),
                      in_front("and ", r["second"])});
     },
     stage_words},
    {"action", "act",
     [](const RecordLine& r) {
       return joined({r["act"], r["object"], r["value"], in_front("by ", r["person"]),
                      in_front("and ", r["second_person"]), in_front("because ", r["reason"])});
     },
     act_words},
    {"answer", "answer",
     [](const RecordLine& r) {
       return joined({r["act"], r["accepted"] == "1" ? "done" : "refused", r["code"], r["text"]});
     },
     answer_words},
    {"notice", "notice",
     [](const RecordLine& r) {
       return joined({r["code"], r["text"]});
     },
     notice_words},
    {"mark", "mark",
     [](const RecordLine& r) {
       return joined({r["mark"], r["point"], "from", r["readings"], "readings"});
     },
     mark_words},
    {"proof", "proof",
     [](const RecordLine& r) {
       return joined({r["proof"], r["passed"] == "1" ? "passed" : "failed", r["facts"]});
     },
     proof_words},
    {"gap", "gap",
     [](const RecordLine& r) {
       return joined({"nothing was recorded:", r["why"], in_front("rows lost ", r["lost"])});
     },
     gap_words},
    {"event", "event",
     [](const RecordLine& r) {
       return joined({r["kind"], r["detail"]});
     },
     other_words},
};

// What the rows are told with: null where no revision is in the record or this version cannot read it.
std::shared_ptr<const Job> newest_job(record::RecordReader& reader) {
  const auto found = reader.revision_in_force();
  if (!found || !*found) return nullptr;
  const auto revision = make_revision({(*found)->rig_yaml, (*found)->stages_yaml});
  return revision ? revision->job : nullptr;
}

std::vector<Happening> happenings(record::RecordReader& reader, const Telling& telling, const TimeRange& range) {
  std::vector<Happening> all;
  for (const Source& source : sources)
    each_line(reader, source.view, [&](const RecordLine& line) {
      const std::int64_t wall = line.number("wall_ns");
      if (!range.holds(wall)) return;
      std::string words = source.sentence(line, telling);
      if (!words.empty()) all.push_back({line.number("seq"), wall, source.kind, source.tell(line), std::move(words)});
    });
  std::sort(all.begin(), all.end(), [](const Happening& a, const Happening& b) { return a.seq < b.seq; });
  return all;
}

}  // namespace

int events(const Arguments& arguments) {
  auto reader = open_record(job_folder_of(arguments));
  const LocalTime time{arguments};
  const bool json_wanted = arguments.has("json"), simulated = is_simulated(reader);
  if (!json_wanted) std::cout << simulated_heading(simulated);
  for (const Happening& each : happenings(reader, {time, newest_job(reader)}, time_range_of(arguments))) {
    if (json_wanted)
      std::cout << boost::json::serialize(boost::json::object{{"schema", "standfast-event-1"},
                                                              {"time", wall_time_text({each.wall_ns})},
                                                              {"seq", each.seq},
                                                              {"kind", each.kind},
                                                              {"text", each.text},
                                                              {"words", each.words},
                                                              {"simulated", simulated}})
                << '\n';
    else
      std::cout << time.full(WallTime{each.wall_ns}) << "  " << each.kind
                << std::string(8 - std::min<std::size_t>(7, each.kind.size()), ' ') << each.words << '\n';
  }
  return done;
}

}  // namespace standfast::client
