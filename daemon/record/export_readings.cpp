#include "daemon/record/export_readings.hpp"

#include <algorithm>
#include <map>
#include <optional>
#include <vector>

#include <sqlite3.h>

#include "config/raw_value.hpp"
#include "daemon/record/json_text.hpp"
#include "daemon/record/names.hpp"

namespace standfast::record {
namespace {

struct Cell {            // One channel or input of a block.
  std::string fields;    // Its name and kind, ready to be written;
  std::string behind;    // its bus and nobody, likewise.
  std::size_t place{0};
  std::optional<RawType> type;  // None: a bit or a text.
  Order word_order{}, byte_order{};
};
using Blocks = std::map<std::int64_t, std::vector<Cell>>;

Cell cell_of(const Statement& row) {
  CsvLine fields;
  fields.text(row.text(2));
  fields.text(row.text(3));
  CsvLine behind;
  behind.text(row.text(7));
  behind.empty();
  return {fields.bytes(), behind.bytes(), static_cast<std::size_t>(row.number(1)), named<RawType>(row.text(4)),
          named<Order>(row.text(5)).value_or(Order::big), named<Order>(row.text(6)).value_or(Order::big)};
}

int read_blocks(Database& database, Blocks& blocks) {
  Statement rows = database.prepare(
      "SELECT c.block, c.place, c.name, c.kind, c.raw_type, c.word_order, c.byte_order, b.bus "
      "FROM block_channel AS c JOIN block AS b ON b.key = c.block ORDER BY c.seq");
  if (!rows) return SQLITE_ERROR;
  int code = rows.step();
  for (; code == SQLITE_ROW; code = rows.step()) blocks[rows.number(0)].push_back(cell_of(rows));
  return code;
}

void put_number(CsvLine& line, const Cell& cell, const std::vector<std::uint16_t>& words) {
  const std::size_t count = cell.type ? static_cast<std::size_t>(words_of(*cell.type)) : 1;
  if (cell.place + count > words.size()) return line.empty();
  if (!cell.type) return line.number(std::int64_t{words[cell.place]});
  const auto value = raw_value({words.data() + cell.place, count}, *cell.type, cell.word_order, cell.byte_order);
  if (!value) return line.empty();
  const bool whole = *cell.type != RawType::float32 && *cell.type != RawType::float64;
  whole ? line.number(static_cast<std::int64_t>(*value)) : line.number(*value);
}

// Each byte as the character of its number, as the record's JSON has it: what leaves here is UTF-8.
std::optional<std::string> shown_line(std::string_view raw) {
  const auto bytes = line_of(raw);
  if (!bytes) return std::nullopt;
  std::string text;
  for (const char c : *bytes) {
    const auto byte = static_cast<unsigned char>(c);
    if (byte >= 0x80) text += static_cast<char>(0xc0 | byte >> 6);
    text += static_cast<char>(byte >= 0x80 ? 0x80 | (byte & 0x3f) : byte);
  }
  return text;
}

// Columns of the row: seq, span, at_ns, wall_ns, taken_ns, block, raw, flaw.
void put_answer(CsvFile& file, const Statement& row, const std::vector<Cell>& cells, std::int64_t simulated) {
  CsvLine begin;
  begin.time(WallTime{row.number(3)}, Instant{row.is_null(4) ? row.number(2) : row.number(4)});
  begin.number(simulated);
  begin.number(row.number(0));
  begin.number(row.number(1));
  const std::string_view raw = row.text(6), flaw = row.is_null(7) ? "none" : row.text(7);
  const auto text = shown_line(raw);
  const auto words = text ? std::nullopt : numbers_of(raw, 65535);
  for (const Cell& cell : cells) {
    file.line.ready(begin.bytes());
    file.line.ready(cell.fields);
    words ? put_number(file.line, cell, *words) : file.line.empty();
    text ? file.line.text(*text) : file.line.empty();
    file.line.text(flaw);
    file.line.ready(cell.behind);
    file.end_line();
  }
}

// What a person entered, and the engine took: columns seq, span, at_ns, wall_ns, channel, what was entered, person. The
// amount stands with its unit, so it is a text: a raw number has none.
void put_entered(CsvFile& file, const Statement& row, std::int64_t simulated) {
  CsvLine& line = file.line;
  line.time(WallTime{row.number(3)}, Instant{row.number(2)});
  line.number(simulated);
  line.number(row.number(0));
  line.number(row.number(1));
  line.text(row.text(4));
  line.text("by_hand");
  line.empty();
  line.text(row.text(5));
  line.text("none");
  line.text("by hand");
  line.text(row.text(6));
  file.end_line();
}

// Both in one order, that of seq.
class Rows {
 public:
  explicit Rows(Database& database)
      : answers_{database.prepare(
            "SELECT seq, span, at_ns, wall_ns, taken_ns, block, raw, flaw FROM scan "
            "WHERE seq > ?1 AND seq <= ?2 AND wall_ns >= ?3 AND wall_ns < ?4 ORDER BY seq")},
        entered_{database.prepare(
            "SELECT seq, span, at_ns, wall_ns, object, value, person FROM action AS a "
            "WHERE seq > ?1 AND seq <= ?2 AND wall_ns >= ?3 AND wall_ns < ?4 AND act = 'enter_reading' "
            "AND (SELECT accepted FROM answer WHERE seq > a.seq ORDER BY seq LIMIT 1) = 1 ORDER BY seq")} {}
  explicit operator bool() const { return answers_ && entered_; }

  // Those of a page; the code that SQLite ended with.
  template <class PutAnswer, class PutEntered>
  int page(std::int64_t after, std::int64_t until, const ExportSpan& span, PutAnswer put_answer, PutEntered put_entered) {
    for (Statement* each : {&answers_, &entered_}) {
      each->bind(1, after);
      each->bind(2, until);
      each->bind(3, span.from_wall_ns);
      each->bind(4, span.until_wall_ns);
    }
    int answer = answers_.step(), entry = entered_.step();
    while (answer == SQLITE_ROW || entry == SQLITE_ROW) {
      const bool is_entry = entry == SQLITE_ROW && (answer != SQLITE_ROW || entered_.number(0) < answers_.number(0));
      if (is_entry) put_entered(entered_);
      else put_answer(answers_);
      (is_entry ? entry : answer) = (is_entry ? entered_ : answers_).step();
    }
    answers_.reset();
    entered_.reset();
    return answer != SQLITE_DONE ? answer : entry;
  }

 private:
  Statement answers_, entered_;
};

}  // namespace

std::string write_readings(Database& database, const ExportSpan& span, CsvFile& file) {
  for (const char* column : {"time_utc", "time_local", "monotonic_s", "simulated", "seq", "span", "channel", "kind",
                             "raw_number", "raw_text", "flaw", "bus", "by"})
    file.line.text(column);
  file.end_line();
  Blocks blocks;
  if (read_blocks(database, blocks) != SQLITE_DONE) return database.message();
  Rows rows{database};
  if (!rows) return database.message();
  const auto answer = [&](const Statement& row) { put_answer(file, row, blocks[row.number(5)], span.simulated); };
  const auto entered = [&](const Statement& row) { put_entered(file, row, span.simulated); };
  for (std::int64_t after = 0; after < span.newest; after += seqs_in_a_page) {
    const std::int64_t until = std::min(after + seqs_in_a_page, span.newest);
    if (rows.page(after, until, span, answer, entered) != SQLITE_DONE) return database.message();
  }
  return {};
}

}  // namespace standfast::record
