#include "daemon/record/record_file.hpp"

#include <algorithm>
#include <array>
#include <cstring>
#include <fstream>

#include <fcntl.h>
#include <sqlite3.h>
#include <sys/stat.h>
#include <unistd.h>

#include "daemon/record/database.hpp"
#include "daemon/record/row_fields.hpp"
#include "daemon/record/schema.hpp"
#include "daemon/record/seal.hpp"
#include "daemon/record/verify.hpp"

namespace standfast::record {
namespace {

using std::filesystem::path;

path beside(const path& record, const char* ending) { return path{record.string() + ending}; }

OpenRefusal refuse(RefusalKind kind, const path& record, const std::string& what) {
  return {kind, record.filename().string() + " " + what};
}

// The header of an SQLite file: 100 bytes, big-endian (www.sqlite.org/fileformat2.html, 1.3).
constexpr std::size_t header_bytes = 100, user_version_at = 60, application_id_at = 68;

std::uint32_t number_at(const std::array<char, header_bytes>& header, std::size_t at) {
  std::uint32_t number = 0;
  for (std::size_t i = 0; i < 4; ++i) number = number << 8 | static_cast<unsigned char>(header[at + i]);
  return number;
}

std::optional<OpenRefusal> judge_header(const path& record) {
  std::ifstream file{record, std::ios::binary};
  std::array<char, header_bytes> header{};
  if (!file.read(header.data(), header_bytes)) return refuse(RefusalKind::not_trusted, record, "is shorter than its header");
  if (std::memcmp(header.data(), "SQLite format 3", 16) != 0)
    return refuse(RefusalKind::not_trusted, record, "has no SQLite header");
  if (number_at(header, application_id_at) != static_cast<std::uint32_t>(application_id))
    return refuse(RefusalKind::foreign, record, "belongs to another program");
  if (const std::int64_t version = number_at(header, user_version_at); version != schema_version)
    return refuse(RefusalKind::other_version, record, of_other_version(version));
  return std::nullopt;
}

bool flush(const path& what) {
  const int file = ::open(what.c_str(), O_RDONLY | O_CLOEXEC);
  if (file < 0) return false;
  const bool done = ::fsync(file) == 0;
  ::close(file);
  return done;
}

bool write_first_row(Database& database, const About& about) {
  const auto schema = schema_sha256(database);
  if (!schema) return false;
  const Row row = row_of(about, *schema);
  Statement insert = database.prepare("INSERT INTO about VALUES (1,?,?,?,?,?,?,?,?)");
  Statement seal = database.prepare("INSERT INTO seal VALUES (1, 1, 1, ?)");
  if (!insert || !seal) return false;
  for (std::size_t i = 0; i < row.values.size(); ++i) insert.bind(static_cast<int>(i) + 1, row.values[i]);
  Sealer sealer;
  sealer.begin(std::string(head_bytes, '\0'), 1, 1, 1);
  sealer.add(1, row);
  const std::string head = sealer.finish();
  seal.bind_blob(1, head);
  return insert.step() == SQLITE_DONE && seal.step() == SQLITE_DONE;
}

// Empty where it went well.
std::string fill(const path& partial, const About& about) {
  Database database;
  const int code = database.open(partial, OpenAs::creator);
  if (code != SQLITE_OK) return sqlite3_errstr(code);
  const bool made = database.run("PRAGMA journal_mode = WAL") == SQLITE_OK && database.run("BEGIN") == SQLITE_OK &&
                    database.run(schema_sql) == SQLITE_OK && write_first_row(database, about) &&
                    database.run("COMMIT") == SQLITE_OK && database.checkpoint(true) == SQLITE_OK;
  return made ? std::string{} : database.message();
}

void remove_record(const path& record) {
  std::error_code ignored;
  for (const char* ending : {"", "-wal", "-shm", "-journal"}) std::filesystem::remove(beside(record, ending), ignored);
}

}  // namespace

Result<Found, OpenRefusal> look_at(const path& record) {
  const path folder = record.has_parent_path() ? record.parent_path() : path{"."};
  if (::access(folder.c_str(), W_OK | X_OK) != 0)
    return Failure{OpenRefusal{RefusalKind::not_writable, folder.string() + ": " + std::strerror(errno)}};
  struct stat status {};
  if (::lstat(record.c_str(), &status) != 0) {
    if (errno != ENOENT) return Failure{refuse(RefusalKind::not_writable, record, std::strerror(errno))};
    std::error_code ignored;
    if (std::filesystem::exists(beside(record, "-wal"), ignored))
      return Failure{refuse(RefusalKind::not_trusted, record, "is not there, but its write-ahead log is")};
    return Found::nothing;
  }
  if (S_ISLNK(status.st_mode)) return Failure{refuse(RefusalKind::foreign, record, "is a symbolic link")};
  if (!S_ISREG(status.st_mode)) return Failure{refuse(RefusalKind::foreign, record, "is not a file")};
  if (status.st_nlink > 1) return Failure{refuse(RefusalKind::foreign, record, "has a second name (a hard link)")};
  if (::access(record.c_str(), R_OK | W_OK) != 0)
    return Failure{refuse(RefusalKind::not_writable, record, std::strerror(errno))};
  if (status.st_size == 0) return Failure{refuse(RefusalKind::not_trusted, record, "is empty")};
  if (auto refusal = judge_header(record)) return Failure{*refusal};
  return Found::a_record;
}

std::optional<OpenRefusal> create(const path& record, const About& about) {
  const path partial = beside(record, ".partial");
  remove_record(partial);  // Of an attempt that did not end.
  std::string why = fill(partial, about);
  if (why.empty() && !flush(partial)) why = std::strerror(errno);
  std::error_code error;
  if (why.empty()) std::filesystem::rename(partial, record, error);
  if (error) why = error.message();
  if (why.empty() && !flush(record.has_parent_path() ? record.parent_path() : path{"."})) why = std::strerror(errno);
  if (why.empty()) return std::nullopt;
  remove_record(partial);
  return refuse(RefusalKind::not_writable, record, "cannot be made: " + why);
}

std::string of_other_version(std::int64_t version) {
  return "was made by another version of this program: its layout is " + std::to_string(version) + ", the one of this version is " +
         std::to_string(schema_version) + "; a job goes on with the version that began it";
}

Row row_of(const About& about, const std::string& schema_sha256) {
  PutFields put{RecordTable::about};
  put.number(about.created.ns).flag(about.simulated).text(about.job).text(about.software).text(about.host);
  return std::move(put.number(schema_version).text(schema_sha256).text(sqlite3_libversion())).done();
}

namespace {

constexpr std::array record_parts{"-wal", "-shm", ""};

std::string sha256_of_file(const path& what) {
  Sha256 hash;
  std::ifstream file{what, std::ios::binary};
  for (std::string bytes(1 << 16, '\0'); file; ) {
    file.read(bytes.data(), static_cast<std::streamsize>(bytes.size()));
    hash.add({bytes.data(), static_cast<std::size_t>(file.gcount())});
  }
  return hex_of(hash.finish());
}

bool any_part_there(const path& record) {
  std::error_code ignored;
  return std::any_of(record_parts.begin(), record_parts.end(),
                     [&](const char* ending) { return std::filesystem::exists(beside(record, ending), ignored); });
}

}  // namespace

Result<SetAside, std::string> set_aside(const path& record) {
  std::error_code error;
  const path log = beside(record, "-wal");
  SetAside aside;
  aside.sha256 = sha256_of_file(record);
  if (std::filesystem::exists(log, error)) aside.log_sha256 = sha256_of_file(log);
  for (int number = 1; aside.path.empty() || any_part_there(aside.path); ++number)
    aside.path = beside(record, (".set-aside-" + std::to_string(number)).c_str());
  for (const char* ending : record_parts) {
    if (!std::filesystem::exists(beside(record, ending), error)) continue;
    std::filesystem::rename(beside(record, ending), beside(aside.path, ending), error);
    if (error) return Failure{error.message()};
  }
  return aside;
}

}  // namespace standfast::record
