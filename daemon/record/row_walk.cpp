#include "daemon/record/row_walk.hpp"

#include <cstdint>

#include <sqlite3.h>

namespace standfast::record {

std::vector<RecordTable> all_tables() {
  std::vector<RecordTable> tables;
  for (const TableEntry& entry : table_entries) tables.push_back(entry.table);
  return tables;
}

std::vector<RecordTable> tables_of(Part part) {
  std::vector<RecordTable> tables;
  for (const TableEntry& entry : table_entries)
    if (entry.part == part) tables.push_back(entry.table);
  return tables;
}

Result<RowWalk, std::string> RowWalk::over(Database& database, std::span<const RecordTable> tables, std::int64_t from,
                                           std::int64_t to) {
  RowWalk walk;
  for (const RecordTable table : tables) {
    Cursor cursor;
    cursor.table = table;
    cursor.statement = database.prepare("SELECT * FROM " + std::string{entry_of(table).name} +
                                        " WHERE seq >= ?1 AND seq <= ?2 ORDER BY seq");
    if (!cursor.statement) return Failure{database.message()};
    cursor.statement.bind(1, from);
    cursor.statement.bind(2, to);
    cursor.columns = cursor.statement.columns();
    if (walk.advance(cursor)) walk.cursors_.push_back(std::move(cursor));
    if (walk.trouble_) return Failure{database.message()};
  }
  return walk;
}

bool RowWalk::advance(Cursor& cursor) {
  const int code = cursor.statement.step();
  if (code == SQLITE_ROW) {
    cursor.seq = cursor.statement.number(0);
    return true;
  }
  if (code != SQLITE_DONE) trouble_ = true;
  return false;
}

bool RowWalk::next() {
  if (started_ && !cursors_.empty()) {
    if (!advance(cursors_[at_])) {
      cursors_.erase(cursors_.begin() + static_cast<std::ptrdiff_t>(at_));
      until_other_ = INT64_MIN;
    } else if (cursors_[at_].seq < until_other_) {
      return true;
    }
  }
  started_ = true;
  if (trouble_ || cursors_.empty()) return false;
  at_ = 0;
  until_other_ = INT64_MAX;
  for (std::size_t i = 1; i < cursors_.size(); ++i) {
    if (cursors_[i].seq < cursors_[at_].seq) {
      until_other_ = cursors_[at_].seq;
      at_ = i;
    } else if (cursors_[i].seq < until_other_) {
      until_other_ = cursors_[i].seq;
    }
  }
  return true;
}

Row RowWalk::row() const {
  const Cursor& cursor = cursors_[at_];
  Row row;
  row.table = cursor.table;
  row.values.reserve(static_cast<std::size_t>(cursor.columns) - 1);
  for (int column = 1; column < cursor.columns; ++column) row.values.push_back(cursor.statement.value(column));
  return row;
}

}  // namespace standfast::record
