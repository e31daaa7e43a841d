// The record opened for writing: one connection, one thread, one commit at a time. What to do when a commit fails is decided
// above, by the writer.
#pragma once

#include <array>
#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "config/result.hpp"
#include "daemon/record/database.hpp"
#include "daemon/record/record_file.hpp"
#include "daemon/record/rows.hpp"

namespace standfast::record {

struct Batch {
  std::int64_t number{0}, first_seq{0}, last_seq{0};
  std::vector<Row> rows;
  std::string head;  // 32 bytes, once sealed.
};
void seal(Batch& batch, std::string_view head_before);

enum class Outcome : std::uint8_t {
  done,
  busy,       // Another program holds the file: nothing was written.
  disk_full,  // Nothing was written.
  in_doubt,   // It may be there or not; this connection is not to be used again.
};

class RecordStore {
 public:
  struct How {
    const char* vfs{nullptr};
    const char* synchronous{"FULL"};
  };
  // Structure is checked whole up to this size, beyond it only by the newest part of the chain: a start waits about a second
  // for that check, however long the job.
  static constexpr std::int64_t whole_check_bytes = std::int64_t{64} << 20;
  static constexpr std::int64_t newest_rows_checked = 10'000;
  // The log goes into the file after this many pages of it.
  static constexpr int pages_before_checkpoint = 1000;

  Result<Tail, OpenRefusal> open(const std::filesystem::path& record, const How& how);
  bool is_open() const { return static_cast<bool>(database_); }
  [[nodiscard]] Outcome commit(const Batch& batch);
  [[nodiscard]] Outcome checkpoint_if_due();
  const std::string& why() const { return why_; }  // The last outcome that was not `done`.
  void close();     // Checkpoints.
  void abandon();   // Leaves file and log as they are.

 private:
  Outcome outcome_of(int code);
  int insert(const Batch& batch);
  std::string settings(const How& how);
  std::string distrust(const std::filesystem::path& record);
  bool prepare();
  Result<Tail, std::string> tail();

  Database database_;
  std::array<Statement, table_count> inserts_;
  Statement seal_, begin_, commit_, rollback_;
  int pages_at_checkpoint_{0};
  std::string why_;
};

}  // namespace standfast::record
