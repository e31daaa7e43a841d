// SQLite behind two small objects. Codes are SQLite's own (0 done, 100 a row, 101 no more); nothing throws.
#pragma once

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <memory>
#include <string>
#include <string_view>

#include "daemon/record/rows.hpp"

struct sqlite3;
struct sqlite3_stmt;

namespace standfast::record {

class Statement {
 public:
  Statement() = default;
  explicit Statement(sqlite3_stmt* handle) : handle_{handle} {}
  explicit operator bool() const { return handle_ != nullptr; }

  void bind(int place, std::int64_t number);          // Places count from 1.
  void bind(int place, std::string_view text);        // Must live until the next reset.
  void bind_blob(int place, std::string_view bytes);  // Must live until the next reset.
  void bind(int place, const Value& value);
  int step();
  void reset();

  int columns() const;
  std::string_view column_name(int column) const;  // Columns count from 0.
  bool is_null(int column) const;
  std::int64_t number(int column) const;
  std::string_view text(int column) const;  // Also of a BLOB; until the next step.
  Value value(int column) const;
  void append_canonical(std::string& bytes, int column) const;  // The same bytes as of its Value, without making one.

 private:
  struct Finalize { void operator()(sqlite3_stmt* handle) const; };
  std::unique_ptr<sqlite3_stmt, Finalize> handle_;
};

enum class OpenAs : std::uint8_t {
  reader,
  file_alone,  // As a reader to whom the log does not exist; what it sees may be half of a checkpoint.
  writer,
  creator,
};

class Database {
 public:
  Database() = default;
  int open(const std::filesystem::path& path, OpenAs how, const char* vfs = nullptr);
  void close();  // Statements must be gone.
  explicit operator bool() const { return handle_ != nullptr; }

  int run(const std::string& sql);                // Any number of statements, results dropped.
  Statement prepare(std::string_view sql);        // Empty where it cannot be: see message().
  // The first column of the first row; the error says why there is none.
  Result<std::string, std::string> text_of(std::string_view sql);
  Result<std::int64_t, std::string> number_of(std::string_view sql);

  std::string message() const;
  int code() const;  // Extended, of the newest call that failed.
  bool in_transaction() const;
  // What is in the log goes into the file; `truncate` empties the log as well. 0, or the code.
  int checkpoint(bool truncate);
  int pages_in_log() const { return *pages_in_log_; }
  void keep_log_on_close(bool keep);  // True: even the last connection neither checkpoints nor deletes the log.
  void bound_each_statement(Duration longest);  // From its `prepare`; then it ends as interrupted.

 private:
  struct Close { void operator()(sqlite3* handle) const; };
  struct Deadline { std::chrono::nanoseconds longest; std::chrono::steady_clock::time_point at; };
  static int is_past(void* deadline);
  std::unique_ptr<int> pages_in_log_ = std::make_unique<int>(0);  // SQLite writes here: must outlive the handle.
  std::unique_ptr<Deadline> deadline_;
  std::unique_ptr<sqlite3, Close> handle_;
};

}  // namespace standfast::record
