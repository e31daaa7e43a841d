// The record as tables for a spreadsheet: readings, loads, movements, alarms, actions and outputs of a time range.
//
// Every file begins each line with the time three times (UTC, local with its offset, seconds since boot) and with
// `simulated`: 1 where the whole record came from simulated instruments. Units stand in the names of the columns
// (`load_J1_kN`). Loads and movements have one line for each instant and three columns for each quantity: its number to
// 1 mN or 1 nm, its standard uncertainty in the same unit (empty: not stated), and its quality; readings, alarms,
// actions and outputs one line each.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "config/instant.hpp"
#include "config/result.hpp"

namespace standfast::record {

struct TimeRange { std::optional<WallTime> from, until; };  // from <= wall time < until; none: open.

struct ExportedFile {
  std::filesystem::path path;
  std::int64_t lines{0};  // Without the header.
};

// Into the folder, which is made where it is not there; files of these names are replaced when the new one is whole. Reads
// beside the writer, in short pages, up to what was durable when it began. The error is a sentence for a person.
Result<std::vector<ExportedFile>, std::string> export_csv(const std::filesystem::path& record,
                                                          const std::filesystem::path& folder, const TimeRange& range);

}  // namespace standfast::record
