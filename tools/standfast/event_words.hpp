// What a row of the record says, as a sentence for a person. The words of the record itself stay in --json.
#pragma once

#include <memory>
#include <string>

#include "daemon/core/event.hpp"
#include "tools/standfast/local_time.hpp"
#include "tools/standfast/record_lines.hpp"

namespace standfast::client {

struct Telling {
  LocalTime time;
  std::shared_ptr<const Job> job;  // Of the newest revision: its units and names. Null: none is in the record.
};

using Sentence = std::string (*)(const RecordLine& row, const Telling& telling);

std::string start_words(const RecordLine& row, const Telling& telling);
std::string in_force_words(const RecordLine& row, const Telling& telling);
std::string signal_words(const RecordLine& row, const Telling& telling);
std::string alarm_words(const RecordLine& row, const Telling& telling);
std::string permit_words(const RecordLine& row, const Telling& telling);
std::string stage_words(const RecordLine& row, const Telling& telling);
std::string act_words(const RecordLine& row, const Telling& telling);
std::string answer_words(const RecordLine& row, const Telling& telling);
std::string notice_words(const RecordLine& row, const Telling& telling);
std::string mark_words(const RecordLine& row, const Telling& telling);
std::string proof_words(const RecordLine& row, const Telling& telling);
std::string gap_words(const RecordLine& row, const Telling& telling);
// Empty where the row says nothing a person would ask for.
std::string other_words(const RecordLine& row, const Telling& telling);

}  // namespace standfast::client
