#include "daemon/record/export_csv.hpp"

#include <map>

#include <sqlite3.h>

#include "daemon/record/csv.hpp"
#include "daemon/record/database.hpp"
#include "daemon/record/export_readings.hpp"
#include "daemon/record/verify.hpp"

namespace standfast::record {
namespace {

struct ListFile { const char* name; const char* view; const char* columns; };
constexpr ListFile list_files[] = {
    {"alarms.csv", "alarm_log",
     "seq, span, alarm, subject, level, cause, from_state, to_state, first_out, value_SI, bound_SI, unit_SI, say, by"},
    {"actions.csv", "action_log",
     "seq, span, act, object, value, reason, person, role, second_person, second_role, way, peer_uid, verified, accepted, "
     "answer_code, answer"},
    {"outputs.csv", "output_log",
     "seq, span, what, raise_permit, lower_permit, stop_relay, sounder, beacon, call_out, heartbeat, flaw"},
};

struct WideFile { const char* name; const char* view; const char* numbers; const char* unit; int decimals; };
// As fine as numbers are compared, 1 mN and 1 nm: what is finer is of the arithmetic, not of the instrument.
constexpr WideFile wide_files[] = {
    {"loads.csv", "load_log", "load_kN, uncertainty_kN", "kN", 6},
    {"movements.csv", "movement_log", "movement_mm, uncertainty_mm", "mm", 6},
};

class Export {
 public:
  Export(Database& database, const std::filesystem::path& folder, const TimeRange& range)
      : database_{database}, folder_{folder} {
    if (range.from) span_.from_wall_ns = range.from->ns;
    if (range.until) span_.until_wall_ns = range.until->ns;
  }

  bool begin();
  bool readings();
  bool list(const ListFile& what);
  bool wide(const WideFile& what);
  const std::string& error() const { return error_; }
  std::vector<ExportedFile> done() && { return std::move(done_); }

 private:
  template <class EachRow>
  bool each_row(const std::string& columns, const std::string& view, EachRow each);
  void begin_line(const Statement& row);  // Columns 0 and 1 of the row: at_ns, wall_ns.
  void cell(const Statement& row, int column);
  bool create_file(const char* name);
  bool begin_file(const char* name);
  bool end_file(const char* name);
  bool fail(std::string why);

  Database& database_;
  std::filesystem::path folder_;
  ExportSpan span_;
  std::unique_ptr<CsvFile> file_;
  std::vector<ExportedFile> done_;
  std::string error_;
};

bool Export::fail(std::string why) {
  error_ = std::move(why);
  return false;
}

bool Export::begin() {
  const auto newest = database_.number_of("SELECT max(last_seq) FROM seal");
  const auto simulated = database_.number_of("SELECT max(simulated) FROM about");
  if (!newest || !simulated) return fail(newest ? simulated.error() : newest.error());
  span_.newest = *newest;
  span_.simulated = *simulated;
  std::error_code error;
  std::filesystem::create_directories(folder_, error);
  return !error || fail(folder_.string() + ": " + error.message());
}

template <class EachRow>
bool Export::each_row(const std::string& columns, const std::string& view, EachRow each) {
  Statement rows = database_.prepare("SELECT at_ns, wall_ns, " + columns + " FROM " + view +
                                     " WHERE seq > ?1 AND seq <= ?2 AND wall_ns >= ?3 AND wall_ns < ?4 ORDER BY seq");
  if (!rows) return fail(database_.message());
  rows.bind(3, span_.from_wall_ns);
  rows.bind(4, span_.until_wall_ns);
  for (std::int64_t after = 0; after < span_.newest; after += seqs_in_a_page) {
    rows.bind(1, after);
    rows.bind(2, std::min(after + seqs_in_a_page, span_.newest));
    int code = rows.step();
    for (; code == SQLITE_ROW; code = rows.step()) each(rows);
    rows.reset();
    if (code != SQLITE_DONE) return fail(database_.message());
  }
  return true;
}

bool Export::create_file(const char* name) {
  file_ = CsvFile::create(folder_ / name);
  return file_ || fail((folder_ / name).string() + " cannot be made");
}

bool Export::readings() {
  if (!create_file("readings.csv")) return false;
  std::string why = write_readings(database_, span_, *file_);
  return why.empty() ? end_file("readings.csv") : fail(std::move(why));
}

bool Export::begin_file(const char* name) {
  if (!create_file(name)) return false;
  for (const char* column : {"time_utc", "time_local", "monotonic_s", "simulated"}) file_->line.text(column);
  return true;
}

bool Export::end_file(const char* name) {
  if (!file_->finish()) return fail((folder_ / name).string() + " cannot be written: is the disk full?");
  done_.push_back({folder_ / name, file_->lines() - 1});
  file_.reset();
  return true;
}

void Export::begin_line(const Statement& row) {
  file_->line.time(WallTime{row.number(1)}, Instant{row.number(0)});
  file_->line.number(span_.simulated);
}

void Export::cell(const Statement& row, int column) {
  const Value value = row.value(column);
  if (const auto* number = std::get_if<std::int64_t>(&value)) file_->line.number(*number);
  else if (const auto* real = std::get_if<double>(&value)) file_->line.number(*real);
  else if (const auto* text = std::get_if<std::string>(&value)) file_->line.text(*text);
  else file_->line.empty();
}

bool Export::list(const ListFile& what) {
  if (!begin_file(what.name)) return false;
  Statement header = database_.prepare(std::string{"SELECT "} + what.columns + " FROM " + what.view);
  if (!header) return fail(database_.message());
  for (int column = 0; column < header.columns(); ++column) file_->line.text(header.column_name(column));
  file_->end_line();
  const bool read = each_row(what.columns, what.view, [this](const Statement& row) {
    begin_line(row);
    for (int column = 2; column < row.columns(); ++column) cell(row, column);
    file_->end_line();
  });
  return read && end_file(what.name);
}

// `load J1` as `load_J1`: a name that every program takes for a column's.
std::string column_of(std::string_view quantity) {
  std::string name;
  for (const char c : quantity) {
    const bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
    if (plain) name += c;
    else if (!name.empty() && name.back() != '_') name += '_';
  }
  return name;
}

bool Export::wide(const WideFile& what) {
  std::map<std::string, std::size_t> places;
  if (!each_row("quantity", what.view, [&](const Statement& row) { places.try_emplace(std::string{row.text(2)}, 0); }))
    return false;
  if (!begin_file(what.name)) return false;
  std::size_t place = 0;
  for (auto& [quantity, its_place] : places) {
    its_place = place++;
    file_->line.text(column_of(quantity) + "_" + what.unit);
    file_->line.text("standard_uncertainty_" + column_of(quantity) + "_" + what.unit);
    file_->line.text("quality_" + column_of(quantity));
  }
  file_->end_line();

  struct Cell { Value number, uncertainty, quality; };
  std::vector<Cell> cells(places.size());
  struct Key { std::int64_t span, at_ns; bool operator==(const Key&) const = default; };
  std::optional<Key> key;
  const auto end_line = [&] {
    if (!key) return;
    for (Cell& each : cells) {
      for (const Value* value : {&each.number, &each.uncertainty})
        if (const auto* number = std::get_if<double>(value)) file_->line.number(*number, what.decimals);
        else file_->line.empty();
      if (const auto* quality = std::get_if<std::string>(&each.quality)) file_->line.text(*quality);
      else file_->line.empty();
      each = {};
    }
    file_->end_line();
  };
  const bool read = each_row(std::string{"span, quantity, quality, "} + what.numbers, what.view, [&](const Statement& row) {
    const Key its{row.number(2), row.number(0)};
    if (key != its) {
      end_line();
      key = its;
      begin_line(row);
    }
    cells[places[std::string{row.text(3)}]] = {row.value(5), row.value(6), row.value(4)};
  });
  end_line();
  return read && end_file(what.name);
}

}  // namespace

Result<std::vector<ExportedFile>, std::string> export_csv(const std::filesystem::path& record,
                                                          const std::filesystem::path& folder, const TimeRange& range) {
  Database database;
  const int code = database.open(record, OpenAs::reader);
  if (code != SQLITE_OK) return Failure{record.string() + ": " + sqlite3_errstr(code)};
  if (const std::string fault = schema_fault(database); !fault.empty()) return Failure{record.string() + " is not trusted: " + fault};
  Export work{database, folder, range};
  bool going = work.begin() && work.readings();
  for (const ListFile& file : list_files) going = going && work.list(file);
  for (const WideFile& file : wide_files) going = going && work.wide(file);
  if (!going) return Failure{work.error()};
  return std::move(work).done();
}

}  // namespace standfast::record
