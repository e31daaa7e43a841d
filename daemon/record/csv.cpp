#include "daemon/record/csv.hpp"

#include <charconv>
#include <cstdio>
#include <ctime>

#include <fcntl.h>
#include <unistd.h>

namespace standfast::record {
namespace {

constexpr std::size_t bytes_before_writing = std::size_t{1} << 20;

// The time of one second, kept because the rows of a second come together.
struct OfSecond {
  std::int64_t second{INT64_MIN};
  char utc[20]{}, local[20]{}, offset[8]{};

  void look_up(std::int64_t wanted) {
    if (wanted == second) return;
    second = wanted;
    const auto moment = static_cast<std::time_t>(wanted);
    std::tm parts{};
    ::gmtime_r(&moment, &parts);
    std::strftime(utc, sizeof utc, "%Y-%m-%dT%H:%M:%S", &parts);
    ::localtime_r(&moment, &parts);
    std::strftime(local, sizeof local, "%Y-%m-%dT%H:%M:%S", &parts);
    const long minutes = parts.tm_gmtoff / 60;
    const long size = minutes < 0 ? -minutes : minutes;
    std::snprintf(offset, sizeof offset, "%c%02ld:%02ld", minutes < 0 ? '-' : '+', size / 60 % 100, size % 60);
  }
};

constexpr std::int64_t ns_per_second = 1'000'000'000;

}  // namespace

void CsvLine::begin_field() {
  if (started_) bytes_ += ',';
  started_ = true;
}

void CsvLine::empty() { begin_field(); }

void CsvLine::ready(std::string_view fields) {
  begin_field();
  bytes_ += fields;
}

void CsvLine::text(std::string_view value) {
  begin_field();
  const bool formula = !value.empty() && std::string_view{"=+-@\t\r"}.find(value[0]) != std::string_view::npos;
  const bool quotes = value.find_first_of(",\"\r\n") != std::string_view::npos;
  if (quotes) bytes_ += '"';
  if (formula) bytes_ += '\'';
  for (const char c : value) {
    if (c == '"') bytes_ += '"';
    bytes_ += c;
  }
  if (quotes) bytes_ += '"';
}

void CsvLine::number(std::int64_t value) {
  begin_field();
  char digits[24];
  bytes_.append(digits, std::to_chars(digits, digits + sizeof digits, value).ptr);
}

void CsvLine::number(double value) {
  begin_field();
  char digits[32];
  bytes_.append(digits, std::to_chars(digits, digits + sizeof digits, value).ptr);
}

void CsvLine::number(double value, int decimals) {
  begin_field();
  char digits[400];
  char* end = std::to_chars(digits, digits + sizeof digits, value, std::chars_format::fixed, decimals).ptr;
  const std::string_view text{digits, static_cast<std::size_t>(end - digits)};
  bytes_ += text.find_first_of("123456789") == std::string_view::npos && text.starts_with('-') ? text.substr(1) : text;
}

void CsvLine::time(WallTime wall, Instant at) {
  thread_local OfSecond of_second;
  std::int64_t second = wall.ns / ns_per_second, rest = wall.ns % ns_per_second;
  if (rest < 0) {
    --second;
    rest += ns_per_second;
  }
  of_second.look_up(second);
  char ms[8];
  std::snprintf(ms, sizeof ms, ".%03d", static_cast<int>(rest / 1'000'000));
  begin_field();
  bytes_.append(of_second.utc).append(ms).append("Z,");
  bytes_.append(of_second.local).append(ms).append(of_second.offset);
  number(static_cast<double>(at.ns) / 1e9);
}

void CsvLine::end() {
  bytes_ += "\r\n";
  started_ = false;
}

std::unique_ptr<CsvFile> CsvFile::create(const std::filesystem::path& path) {
  const std::string partial = path.string() + ".partial";
  ::unlink(partial.c_str());
  const int file = ::open(partial.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0644);
  if (file < 0) return nullptr;
  return std::unique_ptr<CsvFile>{new CsvFile{path, file}};
}

CsvFile::~CsvFile() {
  ::close(file_);
  if (!finished_) ::unlink(partial().c_str());
}

void CsvFile::end_line() {
  line.end();
  ++lines_;
  if (line.bytes().size() >= bytes_before_writing) write();
}

void CsvFile::write() {
  std::string_view rest = line.bytes();
  while (!rest.empty() && !failed_) {
    const ssize_t written = ::write(file_, rest.data(), rest.size());
    if (written < 0) failed_ = errno != EINTR;
    else rest.remove_prefix(static_cast<std::size_t>(written));
  }
  line.bytes().clear();
}

bool CsvFile::finish() {
  write();
  if (failed_ || ::fsync(file_) != 0) return false;
  finished_ = ::rename(partial().c_str(), path_.c_str()) == 0;
  return finished_;
}

}  // namespace standfast::record
