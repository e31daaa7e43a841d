#include "daemon/record/record_store.hpp"

#include <sqlite3.h>

#include "daemon/record/seal.hpp"
#include "daemon/record/verify.hpp"

namespace standfast::record {

void seal(Batch& batch, std::string_view head_before) {
  Sealer sealer;
  sealer.begin(head_before, batch.number, batch.first_seq, batch.last_seq);
  std::int64_t seq = batch.first_seq;
  for (const Row& row : batch.rows) sealer.add(seq++, row);
  batch.head = sealer.finish();
}

namespace {

int step_once(Statement& statement) {
  const int code = statement.step();
  statement.reset();
  return code == SQLITE_DONE ? SQLITE_OK : code;
}

// The file may be sound, but not now or not by us.
bool cannot_be_written(int code) {
  switch (code & 0xff) {
    case SQLITE_BUSY: case SQLITE_LOCKED: case SQLITE_READONLY: case SQLITE_CANTOPEN: case SQLITE_PERM: case SQLITE_FULL:
      return true;
    default: return false;
  }
}

// The newest seal in the file itself. A log can only add to it: one that takes away belongs to another day. 0: cannot be
// told, because a checkpoint was under way.
std::int64_t newest_without_log(const std::filesystem::path& record, const char* vfs) {
  Database alone;
  if (alone.open(record, OpenAs::file_alone, vfs) != SQLITE_OK) return 0;
  const auto newest = alone.number_of("SELECT coalesce(max(batch), 0) FROM seal");
  return newest ? *newest : 0;
}

}  // namespace

Result<Tail, OpenRefusal> RecordStore::open(const std::filesystem::path& record, const How& how) {
  const std::int64_t without_log = newest_without_log(record, how.vfs);
  const int code = database_.open(record, OpenAs::writer, how.vfs);
  std::string why;
  if (code != SQLITE_OK) why = sqlite3_errstr(code);
  if (why.empty()) {
    database_.keep_log_on_close(true);  // Until it is trusted, nothing of it is touched.
    why = settings(how);
  }
  if (why.empty()) why = distrust(record);
  if (why.empty() && !prepare()) why = database_.message();
  if (why.empty()) {
    auto found = tail();
    if (found && found->batch >= without_log) return std::move(*found);
    why = found ? "its write-ahead log is older than the file" : found.error();
  }
  const RefusalKind kind = cannot_be_written(code != SQLITE_OK ? code : database_.code()) ? RefusalKind::not_writable
                                                                                          : RefusalKind::not_trusted;
  abandon();
  return Failure{OpenRefusal{kind, record.filename().string() + ": " + why}};
}

// Each is set and read back: a build of SQLite may have other defaults, and may ignore what it does not know.
std::string RecordStore::settings(const How& how) {
  const std::string synchronous = std::string{"PRAGMA synchronous = "} + how.synchronous;
  for (const char* pragma :
       {"PRAGMA journal_mode = WAL", synchronous.c_str(), "PRAGMA foreign_keys = ON", "PRAGMA mmap_size = 0",
        "PRAGMA cell_size_check = ON", "PRAGMA trusted_schema = OFF", "PRAGMA journal_size_limit = 67108864"})
    if (database_.run(pragma) != SQLITE_OK) return database_.message();
  const auto mode = database_.text_of("PRAGMA journal_mode");
  const auto keys = database_.number_of("PRAGMA foreign_keys");
  const auto level = database_.number_of("PRAGMA synchronous");
  if (!mode || *mode != "wal" || !keys || *keys != 1) return "SQLite does not take the settings";
  if (!level || (*level != 2) == (std::string_view{how.synchronous} == "FULL")) return "SQLite does not take the settings";
  return {};
}

// Why this file is not to be trusted; empty where it is.
std::string RecordStore::distrust(const std::filesystem::path& record) {
  std::error_code error;
  const auto bytes = std::filesystem::file_size(record, error);
  if (error) return error.message();
  if (static_cast<std::int64_t>(bytes) <= whole_check_bytes) {
    const auto found = database_.text_of("PRAGMA quick_check(1)");
    if (!found) return found.error();
    if (*found != "ok") return *found;
  }
  const auto chain = verify_newest(database_, newest_rows_checked);
  if (!chain) return chain.error();
  if (!chain->proved()) return chain->why;
  if (chain->batches == 0) return "there is no seal";
  return schema_fault(database_);
}

bool RecordStore::prepare() {
  for (const TableEntry& entry : table_entries) {
    std::string sql = "INSERT INTO " + std::string{entry.name} + " VALUES (?";
    for (const char c : entry.columns)
      if (c == ' ') sql += ",?";
    Statement& insert = inserts_[static_cast<std::size_t>(entry.table)];
    insert = database_.prepare(sql + ")");
    if (!insert) return false;
  }
  seal_ = database_.prepare("INSERT INTO seal VALUES (?,?,?,?)");
  begin_ = database_.prepare("BEGIN IMMEDIATE");
  commit_ = database_.prepare("COMMIT");
  rollback_ = database_.prepare("ROLLBACK");
  return seal_ && begin_ && commit_ && rollback_;
}

Result<Tail, std::string> RecordStore::tail() {
  Statement newest = database_.prepare("SELECT batch, last_seq, head FROM seal ORDER BY batch DESC LIMIT 1");
  if (!newest || newest.step() != SQLITE_ROW) return Failure{database_.message()};
  Tail found;
  found.batch = newest.number(0);
  found.seq = newest.number(1);
  found.head = newest.text(2);
  newest.reset();
  const auto span = database_.number_of("SELECT coalesce(max(number), 0) FROM span");
  const auto revision = database_.number_of("SELECT coalesce(max(number), 0) FROM revision");
  if (!span || !revision) return Failure{database_.message()};
  found.span = *span;
  found.revision = *revision;
  const auto simulated = database_.number_of("SELECT max(simulated) FROM about");
  const auto schema = schema_sha256(database_);
  if (!simulated || !schema) return Failure{database_.message()};
  found.simulated = *simulated == 1;
  found.schema_sha256 = *schema;
  std::int64_t of_newest = 0;
  for (const TableEntry& entry : table_entries) {
    if (entry.columns.find("wall_ns") == std::string_view::npos) continue;
    Statement row = database_.prepare("SELECT seq, wall_ns FROM " + std::string{entry.name} + " ORDER BY seq DESC LIMIT 1");
    if (!row || row.step() != SQLITE_ROW || row.number(0) <= of_newest) continue;
    of_newest = row.number(0);
    found.wall = WallTime{row.number(1)};
  }
  return found;
}

Outcome RecordStore::outcome_of(int code) {
  if (code == SQLITE_OK) return Outcome::done;
  why_ = database_.message();
  const int primary = code & 0xff;
  if (primary == SQLITE_BUSY || primary == SQLITE_FULL) {
    // Only SQLite knows whether it has rolled back by itself.
    if (database_.in_transaction() && step_once(rollback_) != SQLITE_OK) return Outcome::in_doubt;
    return primary == SQLITE_BUSY ? Outcome::busy : Outcome::disk_full;
  }
  return Outcome::in_doubt;
}

int RecordStore::insert(const Batch& batch) {
  std::int64_t seq = batch.first_seq;
  for (const Row& row : batch.rows) {
    Statement& insert = inserts_[static_cast<std::size_t>(row.table)];
    int place = 1;
    insert.bind(place++, seq++);
    for (const Value& value : row.values) insert.bind(place++, value);
    const int code = step_once(insert);
    if (code != SQLITE_OK) return code;
  }
  seal_.bind(1, batch.number);
  seal_.bind(2, batch.first_seq);
  seal_.bind(3, batch.last_seq);
  seal_.bind_blob(4, batch.head);
  return step_once(seal_);
}

Outcome RecordStore::commit(const Batch& batch) {
  int code = step_once(begin_);
  if (code == SQLITE_OK) code = insert(batch);
  if (code == SQLITE_OK) code = step_once(commit_);
  return outcome_of(code);
}

Outcome RecordStore::checkpoint_if_due() {
  const int pages = database_.pages_in_log();
  if (pages < pages_at_checkpoint_) pages_at_checkpoint_ = 0;  // The log has begun anew.
  if (pages - pages_at_checkpoint_ < pages_before_checkpoint) return Outcome::done;
  pages_at_checkpoint_ = pages;
  const Outcome outcome = outcome_of(database_.checkpoint(false));
  return outcome == Outcome::busy ? Outcome::done : outcome;
}

void RecordStore::close() {
  if (!is_open()) return;
  if (database_.checkpoint(true) == SQLITE_OK) database_.keep_log_on_close(false);
  abandon();
}

void RecordStore::abandon() {
  for (Statement& insert : inserts_) insert = Statement{};
  for (Statement* statement : {&seal_, &begin_, &commit_, &rollback_}) *statement = Statement{};
  database_.close();
  database_ = Database{};
  pages_at_checkpoint_ = 0;
}

}  // namespace standfast::record
