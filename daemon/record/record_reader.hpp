// Reads the record beside its writer: a read-only connection, each call one short transaction, ended after
// `longest_statement` because a long one keeps the log from beginning anew. One thread at a time.
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "config/result.hpp"
#include "daemon/core/latched.hpp"
#include "daemon/record/rows.hpp"

namespace standfast::record {

inline constexpr Duration longest_statement = seconds(10);

struct SnapshotFound {
  std::int64_t seq{0};        // The state after every event before this seq.
  int rules{0};               // rules_version of the engine that wrote it.
  std::int64_t span{0};
  std::int64_t revision{0};   // In force then; 0: none.
  std::string state, sha256;
};

struct RevisionFound {
  std::int64_t number{0};
  std::string rig_yaml, rig_sha256, stages_yaml, stages_sha256;
};

struct RecordedEvent {
  std::int64_t seq{0};
  std::int64_t span{0};
  Event event;                // JobInForce: without the job;
  std::int64_t revision{0};   // its revision number is here.
};

struct RecordedEffect { std::int64_t seq{0}; std::string text; };  // text: effect_text of the row.

class RecordReader {
 public:
  // Only a record whose tables, views and triggers are those that it was made with. Rows and seals are not looked at.
  static Result<RecordReader, std::string> open(const std::filesystem::path& path, const char* vfs = nullptr);
  // Any that can be read, for what a record that is not trusted calls latched. Nothing is to be read through its views.
  static Result<RecordReader, std::string> open_not_trusted(const std::filesystem::path& path, const char* vfs = nullptr);
  ~RecordReader();
  RecordReader(RecordReader&&) noexcept;
  RecordReader& operator=(RecordReader&&) noexcept;

  // The newest snapshot before that seq whose SHA-256 is that of its text; none if there is none.
  Result<std::optional<SnapshotFound>, std::string> newest_snapshot(std::int64_t before = INT64_MAX);

  // Events from this seq on, in order, at most so many (a page; go on from the last seq + 1).
  Result<std::vector<RecordedEvent>, std::string> events(std::int64_t from, std::size_t at_most = 10'000);

  // Effect rows with from <= seq <= to.
  Result<std::vector<RecordedEffect>, std::string> effects(std::int64_t from, std::int64_t to);

  // The revision in force at the newest in_force row before that seq.
  Result<std::optional<RevisionFound>, std::string> revision_in_force(std::int64_t before = INT64_MAX);
  Result<std::optional<RevisionFound>, std::string> revision(std::int64_t number);

  // Any of the record's views or tables, newest rows last: for `events`, `alarms`, `readings` of the command line.
  // `view` must be one of the names of schema.sql; `after` is a seq. Each cell as text, NULL as none.
  struct Lines { std::vector<std::string> columns; std::vector<std::vector<std::optional<std::string>>> rows; };
  Result<Lines, std::string> lines(const std::string& view, std::int64_t after, std::size_t at_most);

  Result<std::int64_t, std::string> newest_seq();

  // Every alarm that latches and whose last word before that seq does not close it. A level that is no known word is STOP.
  Result<LatchedAlarms, std::string> latched_alarms(std::int64_t before = INT64_MAX);

 private:
  struct Work;
  explicit RecordReader(std::unique_ptr<Work> work);
  std::unique_ptr<Work> work_;
};

}  // namespace standfast::record
