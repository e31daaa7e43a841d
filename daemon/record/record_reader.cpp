#include "daemon/record/record_reader.hpp"

#include <algorithm>
#include <map>

#include <sqlite3.h>

#include "daemon/core/alarm_table.hpp"
#include "daemon/core/cause.hpp"
#include "daemon/record/database.hpp"
#include "daemon/record/names.hpp"
#include "daemon/record/record_file.hpp"
#include "daemon/record/row_walk.hpp"
#include "daemon/record/schema.hpp"
#include "daemon/record/seal.hpp"
#include "daemon/record/verify.hpp"

namespace standfast::record {

struct RecordReader::Work {
  Database database;
  std::map<std::int64_t, bool> bits_of_block;  // Blocks never change.

  Result<bool, std::string> holds_bits(std::int64_t block);
  Result<RecordedEvent, std::string> event_at(const RowWalk& walk);
  Result<std::optional<RevisionFound>, std::string> revision_where(std::string_view condition, std::int64_t number);
};

namespace {

std::string text(const Statement& statement, int column) { return std::string{statement.text(column)}; }

// One picture for all statements of a call.
class Transaction {
 public:
  explicit Transaction(Database& database) : database_{database} { database_.run("BEGIN"); }
  ~Transaction() { database_.run("COMMIT"); }
  Transaction(const Transaction&) = delete;
  Transaction& operator=(const Transaction&) = delete;

 private:
  Database& database_;
};

}  // namespace

RecordReader::RecordReader(std::unique_ptr<Work> work) : work_{std::move(work)} {}
RecordReader::~RecordReader() = default;
RecordReader::RecordReader(RecordReader&&) noexcept = default;
RecordReader& RecordReader::operator=(RecordReader&&) noexcept = default;

Result<RecordReader, std::string> RecordReader::open(const std::filesystem::path& path, const char* vfs) {
  auto reader = open_not_trusted(path, vfs);
  if (!reader) return reader;
  const std::string fault = schema_fault(reader->work_->database);
  if (!fault.empty()) return Failure{path.string() + " is not trusted: " + fault};
  return reader;
}

Result<RecordReader, std::string> RecordReader::open_not_trusted(const std::filesystem::path& path, const char* vfs) {
  auto work = std::make_unique<Work>();
  const int code = work->database.open(path, OpenAs::reader, vfs);
  if (code != SQLITE_OK) return Failure{path.string() + ": " + sqlite3_errstr(code)};
  // A file that cannot even tell is judged by whoever reads on.
  if (const auto version = work->database.number_of("PRAGMA user_version"); version && *version != schema_version)
    return Failure{path.filename().string() + " " + of_other_version(*version)};
  work->database.bound_each_statement(longest_statement);
  return RecordReader{std::move(work)};
}

Result<std::optional<SnapshotFound>, std::string> RecordReader::newest_snapshot(std::int64_t before) {
  Database& database = work_->database;
  const Transaction whole{database};
  Statement found = database.prepare(
      "SELECT seq, rules, span, (SELECT revision FROM in_force WHERE in_force.seq < snapshot.seq AND NOT EXISTS "
      "(SELECT 1 FROM event WHERE kind = 'no_job' AND event.seq > in_force.seq AND event.seq < snapshot.seq) "
      "ORDER BY seq DESC LIMIT 1), "
      "sha256, state FROM snapshot WHERE seq < ?1 ORDER BY seq DESC");
  if (!found) return Failure{database.message()};
  found.bind(1, before);
  int code = found.step();
  for (; code == SQLITE_ROW; code = found.step()) {
    SnapshotFound snapshot{found.number(0), static_cast<int>(found.number(1)), found.number(2), found.number(3), text(found, 5),
                           text(found, 4)};
    if (sha256_hex(snapshot.state) == snapshot.sha256) return std::optional{std::move(snapshot)};
  }
  if (code != SQLITE_DONE) return Failure{database.message()};
  return std::optional<SnapshotFound>{};
}

Result<bool, std::string> RecordReader::Work::holds_bits(std::int64_t block) {
  const auto known = bits_of_block.find(block);
  if (known != bits_of_block.end()) return known->second;
  const auto kind = database.text_of("SELECT register_kind FROM block WHERE key = " + std::to_string(block));
  if (!kind) return Failure{"block " + std::to_string(block) + ": " + kind.error()};
  return bits_of_block[block] = *kind == "coil" || *kind == "discrete_input";
}

Result<RecordedEvent, std::string> RecordReader::Work::event_at(const RowWalk& walk) {
  const Row row = walk.row();
  const std::string where = "seq " + std::to_string(walk.seq()) + ": ";
  bool bits = false;
  if (row.table == RecordTable::scan) {
    const auto* block = std::get_if<std::int64_t>(&row.values[4]);
    const auto found = holds_bits(block == nullptr ? 0 : *block);
    if (!found) return Failure{where + found.error()};
    bits = *found;
  }
  auto event = event_of(row, bits);
  if (!event) return Failure{where + event.error()};
  RecordedEvent recorded{walk.seq(), std::get<std::int64_t>(row.values[0]), std::move(*event), 0};
  if (row.table == RecordTable::in_force) recorded.revision = std::get<std::int64_t>(row.values[3]);
  return recorded;
}

Result<std::vector<RecordedEvent>, std::string> RecordReader::events(std::int64_t from, std::size_t at_most) {
  const Transaction whole{work_->database};
  auto walk = RowWalk::over(work_->database, tables_of(Part::event), from, INT64_MAX);
  if (!walk) return Failure{walk.error()};
  std::vector<RecordedEvent> events;
  while (events.size() < at_most && walk->next()) {
    auto event = work_->event_at(*walk);
    if (!event) return Failure{event.error()};
    events.push_back(std::move(*event));
  }
  if (walk->trouble()) return Failure{work_->database.message()};
  return events;
}

Result<std::vector<RecordedEffect>, std::string> RecordReader::effects(std::int64_t from, std::int64_t to) {
  const Transaction whole{work_->database};
  auto walk = RowWalk::over(work_->database, tables_of(Part::effect), from, to);
  if (!walk) return Failure{walk.error()};
  std::vector<RecordedEffect> effects;
  while (walk->next()) effects.push_back({walk->seq(), effect_text(walk->row())});
  if (walk->trouble()) return Failure{work_->database.message()};
  return effects;
}

Result<std::optional<RevisionFound>, std::string> RecordReader::Work::revision_where(std::string_view condition,
                                                                                     std::int64_t number) {
  Statement found = database.prepare(
      "SELECT number, rig_yaml, rig_sha256, stages_yaml, stages_sha256 FROM revision WHERE number = " +
      std::string{condition});
  if (!found) return Failure{database.message()};
  found.bind(1, number);
  const int code = found.step();
  if (code == SQLITE_DONE) return std::optional<RevisionFound>{};
  if (code != SQLITE_ROW) return Failure{database.message()};
  return std::optional{RevisionFound{found.number(0), text(found, 1), text(found, 2), text(found, 3), text(found, 4)}};
}

Result<std::optional<RevisionFound>, std::string> RecordReader::revision_in_force(std::int64_t before) {
  return work_->revision_where("(SELECT revision FROM in_force WHERE seq < ?1 ORDER BY seq DESC LIMIT 1)", before);
}

Result<std::optional<RevisionFound>, std::string> RecordReader::revision(std::int64_t number) {
  return work_->revision_where("?1", number);
}

Result<RecordReader::Lines, std::string> RecordReader::lines(const std::string& view, std::int64_t after,
                                                             std::size_t at_most) {
  Database& database = work_->database;
  Statement known = database.prepare("SELECT 1 FROM sqlite_schema WHERE name = ?1 AND type IN ('table', 'view')");
  if (!known) return Failure{database.message()};
  known.bind(1, std::string_view{view});
  if (known.step() != SQLITE_ROW) return Failure{view + ": no table or view of the record"};
  known.reset();
  Statement found = database.prepare("SELECT * FROM \"" + view + "\" WHERE seq > ?1 ORDER BY seq LIMIT ?2");
  if (!found) return Failure{database.message()};
  found.bind(1, after);
  found.bind(2, static_cast<std::int64_t>(at_most));
  Lines lines;
  for (int column = 0; column < found.columns(); ++column) lines.columns.emplace_back(found.column_name(column));
  int code = found.step();
  for (; code == SQLITE_ROW; code = found.step()) {
    auto& row = lines.rows.emplace_back();
    for (int column = 0; column < found.columns(); ++column)
      row.push_back(found.is_null(column) ? std::nullopt : std::optional{text(found, column)});
  }
  if (code != SQLITE_DONE) return Failure{database.message()};
  return lines;
}

namespace {

Cause cause_of_code(std::string_view code) {
  for (int i = 0; i < cause_count; ++i)
    if (entry_of(static_cast<Cause>(i)).code == code) return static_cast<Cause>(i);
  return Cause::record_unhealthy;
}

// A word that is not known is of a newer version or damaged: taken for the worst it can mean.
LatchedAlarm latched_at(const Statement& found) {
  AlarmChange change;
  change.number = static_cast<AlarmNumber>(found.number(0));
  change.subject = text(found, 1);
  change.cause = cause_of_code(text(found, 2));
  change.level = named<Level>(text(found, 3)).value_or(Level::stop);
  change.to = named<AlarmState>(text(found, 4)).value_or(AlarmState::unacknowledged);
  change.first_out = found.number(5) != 0;
  change.say = text(found, 6);
  return {std::move(change), WallTime{found.number(7)}};
}

}  // namespace

Result<LatchedAlarms, std::string> RecordReader::latched_alarms(std::int64_t before) {
  const Transaction whole{work_->database};
  // SQLite takes the columns beside max() from the row that has it (sqlite.org/lang_select.html, "bare columns").
  Statement found = work_->database.prepare(
      "SELECT * FROM (SELECT number, subject, cause, level, to_state, first_out, say, wall_ns, max(seq) AS newest FROM alarm "
      "WHERE seq < ?1 GROUP BY number) "
      "ORDER BY newest");
  if (!found) return Failure{work_->database.message()};
  found.bind(1, before);
  LatchedAlarms latched;
  int code = found.step();
  for (; code == SQLITE_ROW; code = found.step()) {
    LatchedAlarm alarm = latched_at(found);
    latched.last = std::max(latched.last, alarm.newest.number);
    if (latches(alarm.newest.level) && is_open(alarm.newest.to)) latched.alarms.push_back(std::move(alarm));
  }
  if (code != SQLITE_DONE) return Failure{work_->database.message()};
  return latched;
}

Result<std::int64_t, std::string> RecordReader::newest_seq() {
  return work_->database.number_of("SELECT coalesce(max(last_seq), 0) FROM seal");
}

}  // namespace standfast::record
