#include "daemon/record/database.hpp"

#include <sqlite3.h>

#include "daemon/record/seal.hpp"

namespace standfast::record {
namespace {

constexpr int busy_timeout_ms = 1000;

int note_pages(void* pages, sqlite3*, const char*, int in_log) {
  *static_cast<int*>(pages) = in_log;
  return SQLITE_OK;
}

// A path as part of a URI.
std::string escaped(const std::string& path) {
  std::string uri;
  for (const char c : path) {
    const char letters[] = {c, '\0'};
    uri += c == '%' ? "%25" : c == '?' ? "%3f" : c == '#' ? "%23" : letters;
  }
  return uri;
}

}  // namespace

void Statement::Finalize::operator()(sqlite3_stmt* handle) const { sqlite3_finalize(handle); }

void Statement::bind(int place, std::int64_t number) { sqlite3_bind_int64(handle_.get(), place, number); }
void Statement::bind(int place, std::string_view text) {
  sqlite3_bind_text64(handle_.get(), place, text.data(), text.size(), SQLITE_STATIC, SQLITE_UTF8);
}
void Statement::bind_blob(int place, std::string_view bytes) {
  sqlite3_bind_blob64(handle_.get(), place, bytes.data(), bytes.size(), SQLITE_STATIC);
}
void Statement::bind(int place, const Value& value) {
  if (const auto* number = std::get_if<std::int64_t>(&value)) bind(place, *number);
  else if (const auto* real = std::get_if<double>(&value)) sqlite3_bind_double(handle_.get(), place, *real);
  else if (const auto* text = std::get_if<std::string>(&value)) bind(place, std::string_view{*text});
  else sqlite3_bind_null(handle_.get(), place);
}
int Statement::step() { return sqlite3_step(handle_.get()); }
void Statement::reset() { sqlite3_reset(handle_.get()); }

int Statement::columns() const { return sqlite3_column_count(handle_.get()); }
std::string_view Statement::column_name(int column) const { return sqlite3_column_name(handle_.get(), column); }
bool Statement::is_null(int column) const { return sqlite3_column_type(handle_.get(), column) == SQLITE_NULL; }
std::int64_t Statement::number(int column) const { return sqlite3_column_int64(handle_.get(), column); }
std::string_view Statement::text(int column) const {
  const auto* bytes = static_cast<const char*>(sqlite3_column_blob(handle_.get(), column));
  return {bytes, bytes == nullptr ? 0 : static_cast<std::size_t>(sqlite3_column_bytes(handle_.get(), column))};
}

Value Statement::value(int column) const {
  switch (sqlite3_column_type(handle_.get(), column)) {
    case SQLITE_INTEGER: return number(column);
    case SQLITE_FLOAT: return sqlite3_column_double(handle_.get(), column);
    case SQLITE_NULL: return std::monostate{};
    default: return std::string{text(column)};
  }
}

void Statement::append_canonical(std::string& bytes, int column) const {
  switch (sqlite3_column_type(handle_.get(), column)) {
    case SQLITE_INTEGER: record::append_canonical(bytes, number(column)); break;
    case SQLITE_FLOAT: record::append_canonical(bytes, sqlite3_column_double(handle_.get(), column)); break;
    case SQLITE_NULL: record::append_canonical(bytes, Value{}); break;
    default: record::append_canonical(bytes, text(column));
  }
}

void Database::Close::operator()(sqlite3* handle) const { sqlite3_close_v2(handle); }

int Database::open(const std::filesystem::path& path, OpenAs how, const char* vfs) {
  int flags = SQLITE_OPEN_NOFOLLOW | SQLITE_OPEN_EXRESCODE;
  switch (how) {
    case OpenAs::file_alone: flags |= SQLITE_OPEN_READONLY | SQLITE_OPEN_URI; break;
    case OpenAs::reader: flags |= SQLITE_OPEN_READONLY; break;
    case OpenAs::writer: flags |= SQLITE_OPEN_READWRITE; break;
    case OpenAs::creator: flags |= SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE; break;
  }
  // SQLite refuses a symbolic link anywhere in the path with NOFOLLOW; only the last part of it is ours to judge.
  std::error_code ignored;
  const auto folder = std::filesystem::weakly_canonical(path.has_parent_path() ? path.parent_path() : ".", ignored);
  const std::string whole = (folder / path.filename()).string();
  const std::string name = how == OpenAs::file_alone ? "file:" + escaped(whole) + "?immutable=1" : whole;
  sqlite3* handle = nullptr;
  const int code = sqlite3_open_v2(name.c_str(), &handle, flags, vfs);
  handle_.reset(handle);
  if (code != SQLITE_OK) {
    handle_.reset();
    return code;
  }
  sqlite3_busy_timeout(handle, busy_timeout_ms);
  sqlite3_wal_hook(handle, note_pages, pages_in_log_.get());  // In place of the automatic checkpoint.
  return SQLITE_OK;
}

void Database::close() { handle_.reset(); }

int Database::run(const std::string& sql) { return sqlite3_exec(handle_.get(), sql.c_str(), nullptr, nullptr, nullptr); }

Statement Database::prepare(std::string_view sql) {
  if (deadline_) deadline_->at = std::chrono::steady_clock::now() + deadline_->longest;
  sqlite3_stmt* statement = nullptr;
  sqlite3_prepare_v3(handle_.get(), sql.data(), static_cast<int>(sql.size()), SQLITE_PREPARE_PERSISTENT, &statement,
                     nullptr);
  return Statement{statement};
}

Result<std::string, std::string> Database::text_of(std::string_view sql) {
  Statement statement = prepare(sql);
  if (!statement) return Failure{message()};
  const int code = statement.step();
  if (code == SQLITE_ROW) return std::string{statement.text(0)};
  return Failure{code == SQLITE_DONE ? std::string{"no row"} : message()};
}

Result<std::int64_t, std::string> Database::number_of(std::string_view sql) {
  Statement statement = prepare(sql);
  if (!statement) return Failure{message()};
  const int code = statement.step();
  if (code == SQLITE_ROW) return statement.number(0);
  return Failure{code == SQLITE_DONE ? std::string{"no row"} : message()};
}

std::string Database::message() const { return handle_ ? sqlite3_errmsg(handle_.get()) : "cannot be opened"; }
int Database::code() const { return handle_ ? sqlite3_extended_errcode(handle_.get()) : SQLITE_OK; }
bool Database::in_transaction() const { return sqlite3_get_autocommit(handle_.get()) == 0; }

int Database::checkpoint(bool truncate) {
  const int mode = truncate ? SQLITE_CHECKPOINT_TRUNCATE : SQLITE_CHECKPOINT_PASSIVE;
  const int code = sqlite3_wal_checkpoint_v2(handle_.get(), nullptr, mode, nullptr, nullptr);
  if (code == SQLITE_OK) *pages_in_log_ = 0;
  return code;
}

int Database::is_past(void* deadline) {
  return std::chrono::steady_clock::now() > static_cast<const Deadline*>(deadline)->at ? 1 : 0;
}

void Database::bound_each_statement(Duration longest) {
  constexpr int steps_between_looks = 10'000;
  deadline_ = std::make_unique<Deadline>(Deadline{std::chrono::nanoseconds{longest.ns}, {}});
  sqlite3_progress_handler(handle_.get(), steps_between_looks, is_past, deadline_.get());
}

void Database::keep_log_on_close(bool keep) {
  sqlite3_db_config(handle_.get(), SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, keep ? 1 : 0, nullptr);
}

}  // namespace standfast::record
