// Rows of several tables as one sequence by ascending seq.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "config/result.hpp"
#include "daemon/record/database.hpp"
#include "daemon/record/tables.hpp"

namespace standfast::record {

std::vector<RecordTable> all_tables();
std::vector<RecordTable> tables_of(Part part);

class RowWalk {
 public:
  // Rows with from <= seq <= to. `database` outlives the walk; wrap both in a transaction for one picture.
  static Result<RowWalk, std::string> over(Database& database, std::span<const RecordTable> tables, std::int64_t from,
                                           std::int64_t to);
  // To the first or the next row. False: there is none, or trouble().
  bool next();
  std::int64_t seq() const { return cursors_[at_].seq; }
  RecordTable table() const { return cursors_[at_].table; }
  const Statement& statement() const { return cursors_[at_].statement; }  // Its columns, seq at 0.
  Row row() const;
  bool trouble() const { return trouble_; }

 private:
  struct Cursor {
    RecordTable table{};
    Statement statement;
    std::int64_t seq{0};
    int columns{0};
  };
  bool advance(Cursor& cursor);  // False: at its end.

  std::vector<Cursor> cursors_;  // Those with a row left.
  std::size_t at_{0};
  std::int64_t until_other_{0};  // As long as this cursor's seq is below, no other comes first.
  bool started_{false}, trouble_{false};
};

}  // namespace standfast::record
