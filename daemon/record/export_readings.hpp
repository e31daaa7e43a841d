// The readings among the exports: each answer taken apart into one line for each channel and input of its block.
#pragma once

#include <cstdint>
#include <string>

#include "daemon/record/csv.hpp"
#include "daemon/record/database.hpp"

namespace standfast::record {

struct ExportSpan {
  std::int64_t from_wall_ns{INT64_MIN}, until_wall_ns{INT64_MAX};  // from <= wall time < until
  std::int64_t newest{0};     // The last seq that belongs to the export.
  std::int64_t simulated{0};  // As every line says it.
};

// Read in pages of so many seq, each a statement of its own, so that the writer's log can begin anew in between.
inline constexpr std::int64_t seqs_in_a_page = 50'000;

// Header and lines. raw_number is the number as the engine reads it from the words, before any scale: empty where it
// refuses them (not a number, beyond 2^53), where there is no answer, and for lines of text. Empty: it went well.
std::string write_readings(Database& database, const ExportSpan& span, CsvFile& file);

}  // namespace standfast::record
