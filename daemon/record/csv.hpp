// CSV as RFC 4180 has it: UTF-8 without byte order mark, one header line, CRLF behind every line, a field in quotes where it
// holds a comma, a quote, CR or LF, the same number of fields in every line.
//
// Two things the RFC leaves open. Nothing is an empty field. A text that a spreadsheet would take for a formula (it begins
// with = + - @, tab or CR) gets an apostrophe before it; numbers never do, so that a negative load stays a number.
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <string>
#include <string_view>

#include "config/instant.hpp"

namespace standfast::record {

class CsvLine {
 public:
  void text(std::string_view value);
  void number(std::int64_t value);
  void number(double value);  // The shortest that reads back.
  void number(double value, int decimals);  // Fixed point; what rounds to nought has no sign.
  void empty();
  void ready(std::string_view fields);   // One or more, already written by another line.
  void time(WallTime wall, Instant at);  // Three fields: RFC 3339 in UTC, the same in local time, seconds since boot.
  void end();
  std::string& bytes() { return bytes_; }

 private:
  void begin_field();
  bool started_{false};
  std::string bytes_;
};

// A new file, `NAME.partial` until it is whole, so that no half file is ever taken for a whole one.
class CsvFile {
 public:
  static std::unique_ptr<CsvFile> create(const std::filesystem::path& path);  // Null: cannot be made.
  ~CsvFile();  // Without `finish`: gone again.
  CsvFile(const CsvFile&) = delete;
  CsvFile& operator=(const CsvFile&) = delete;

  CsvLine line;
  void end_line();
  std::int64_t lines() const { return lines_; }  // The header included.
  bool finish();  // Everything is on disk under its own name.

 private:
  CsvFile(std::filesystem::path path, int file) : path_{std::move(path)}, file_{file} {}
  void write();
  std::filesystem::path partial() const { return path_.string() + ".partial"; }

  std::filesystem::path path_;
  int file_;
  std::int64_t lines_{0};
  bool failed_{false}, finished_{false};
};

}  // namespace standfast::record
