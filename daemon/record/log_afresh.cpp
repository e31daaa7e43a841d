#include "daemon/record/log_afresh.hpp"

#include <cstddef>
#include <memory>

#include <sqlite3.h>

namespace standfast::record {
namespace {

constexpr int bytes_at_once = 1 << 16;

// Through SQLite's own layer, which knows the file by the same name and the tests' disk too.
int write_again(sqlite3_file* file) {
  const sqlite3_io_methods& io = *file->pMethods;
  sqlite3_int64 size = 0;
  int code = io.xFileSize(file, &size);
  const auto bytes = std::make_unique<char[]>(bytes_at_once);
  for (sqlite3_int64 at = 0; code == SQLITE_OK && at < size; at += bytes_at_once) {
    const int count = static_cast<int>(std::min<sqlite3_int64>(bytes_at_once, size - at));
    code = io.xRead(file, bytes.get(), count, at);
    if (code == SQLITE_OK) code = io.xWrite(file, bytes.get(), count, at);
  }
  return code == SQLITE_OK ? io.xSync(file, SQLITE_SYNC_FULL) : code;
}

}  // namespace

std::string write_log_afresh(const std::filesystem::path& record, const char* vfs) {
  std::error_code error;
  const std::string log = std::filesystem::weakly_canonical(record, error).string() + "-wal";
  if (!std::filesystem::exists(log, error)) return {};
  sqlite3_vfs* layer = sqlite3_vfs_find(vfs);
  if (layer == nullptr) return "SQLite does not know the disk";
  using Piece = std::max_align_t;
  const auto memory = std::make_unique<Piece[]>(static_cast<std::size_t>(layer->szOsFile) / sizeof(Piece) + 1);
  auto* file = reinterpret_cast<sqlite3_file*>(memory.get());
  int flags = SQLITE_OPEN_READWRITE | SQLITE_OPEN_WAL;
  int code = layer->xOpen(layer, log.c_str(), file, flags, &flags);
  if (code == SQLITE_OK) code = write_again(file);
  if (file->pMethods != nullptr) file->pMethods->xClose(file);
  return code == SQLITE_OK ? std::string{} : std::string{sqlite3_errstr(code)};
}

}  // namespace standfast::record
