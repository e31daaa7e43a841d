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
  std::string fields;    // Its name and kind, ready to be written.
  std::size_t place{0};
  std::optional<RawType> type;  // None: a bit or a text.
  Order word_order{}, byte_order{};
};
using Blocks = std::map<std::int64_t, std::vector<Cell>>;

Cell cell_of(const Statement& row) {
  CsvLine fields;
  fields.text(row.text(2));
  fields.text(row.text(3));
  return {fields.bytes(), static_cast<std::size_t>(row.number(1)), named<RawType>(row.text(4)),
          named<Order>(row.text(5)).value_or(Order::big), named<Order>(row.text(6)).value_or(Order::big)};
}

int read_blocks(Database& database, Blocks& blocks) {
  Statement rows = database.prepare(
      "SELECT block, place, name, kind, raw_type, word_order, byte_order FROM block_channel ORDER BY seq");
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
    file.end_line();
  }
}

}  // namespace

std::string write_readings(Database& database, const ExportSpan& span, CsvFile& file) {
  for (const char* column : {"time_utc", "time_local", "monotonic_s", "simulated", "seq", "span", "channel", "kind",
                             "raw_number", "raw_text", "flaw"})
    file.line.text(column);
  file.end_line();
  Blocks blocks;
  if (read_blocks(database, blocks) != SQLITE_DONE) return database.message();
  Statement rows = database.prepare(
      "SELECT seq, span, at_ns, wall_ns, taken_ns, block, raw, flaw FROM scan "
      "WHERE seq > ?1 AND seq <= ?2 AND wall_ns >= ?3 AND wall_ns < ?4 ORDER BY seq");
  if (!rows) return database.message();
  rows.bind(3, span.from_wall_ns);
  rows.bind(4, span.until_wall_ns);
  for (std::int64_t after = 0; after < span.newest; after += seqs_in_a_page) {
    rows.bind(1, after);
    rows.bind(2, std::min(after + seqs_in_a_page, span.newest));
    int code = rows.step();
    for (; code == SQLITE_ROW; code = rows.step()) put_answer(file, rows, blocks[rows.number(5)], span.simulated);
    rows.reset();
    if (code != SQLITE_DONE) return database.message();
  }
  return {};
}

}  // namespace standfast::record
