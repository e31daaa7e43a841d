#include "tests/support/bad_disk.hpp"

#include <algorithm>
#include <csignal>
#include <cstring>
#include <fstream>
#include <iterator>
#include <random>

#include <sqlite3.h>
#include <unistd.h>

namespace standfast::testing {
namespace {

BadDisk* disk = nullptr;
sqlite3_vfs* machine = nullptr;

struct ShimFile {  // The machine's own file lies behind it in memory.
  sqlite3_file base;
  std::string* path;  // Null for files that nobody would miss.
  sqlite3_file* real() { return reinterpret_cast<sqlite3_file*>(this + 1); }
};
ShimFile& shim(sqlite3_file* file) { return *reinterpret_cast<ShimFile*>(file); }

int shim_close(sqlite3_file* file) {
  delete shim(file).path;
  return shim(file).real()->pMethods->xClose(shim(file).real());
}
int shim_read(sqlite3_file* file, void* to, int count, sqlite3_int64 offset) {
  return shim(file).real()->pMethods->xRead(shim(file).real(), to, count, offset);
}
int shim_write(sqlite3_file* file, const void* from, int count, sqlite3_int64 offset) {
  sqlite3_file* real = shim(file).real();
  if (shim(file).path == nullptr) return real->pMethods->xWrite(real, from, count, offset);
  bool half = false;
  const int code = disk->write(*shim(file).path, from, count, offset, half);
  if (code != SQLITE_OK && !half) return code;
  const int written = real->pMethods->xWrite(real, from, half ? count / 2 : count, offset);
  return code != SQLITE_OK ? code : written;
}
int shim_truncate(sqlite3_file* file, sqlite3_int64 size) {
  if (shim(file).path != nullptr) disk->truncate(*shim(file).path, size);
  return shim(file).real()->pMethods->xTruncate(shim(file).real(), size);
}
int shim_sync(sqlite3_file* file, int) {  // The disk below is played, so nothing is asked of the true one.
  return shim(file).path == nullptr ? SQLITE_OK : disk->sync(*shim(file).path);
}
int shim_size(sqlite3_file* file, sqlite3_int64* size) {
  return shim(file).real()->pMethods->xFileSize(shim(file).real(), size);
}
int shim_lock(sqlite3_file* file, int kind) { return shim(file).real()->pMethods->xLock(shim(file).real(), kind); }
int shim_unlock(sqlite3_file* file, int kind) { return shim(file).real()->pMethods->xUnlock(shim(file).real(), kind); }
int shim_reserved(sqlite3_file* file, int* is) {
  return shim(file).real()->pMethods->xCheckReservedLock(shim(file).real(), is);
}
int shim_control(sqlite3_file* file, int what, void* with) {
  return shim(file).real()->pMethods->xFileControl(shim(file).real(), what, with);
}
int shim_sector(sqlite3_file* file) { return shim(file).real()->pMethods->xSectorSize(shim(file).real()); }
int shim_character(sqlite3_file* file) {
  return shim(file).real()->pMethods->xDeviceCharacteristics(shim(file).real());
}
int shim_shm_map(sqlite3_file* file, int page, int size, int extend, void volatile** where) {
  return shim(file).real()->pMethods->xShmMap(shim(file).real(), page, size, extend, where);
}
int shim_shm_lock(sqlite3_file* file, int offset, int count, int flags) {
  return shim(file).real()->pMethods->xShmLock(shim(file).real(), offset, count, flags);
}
void shim_shm_barrier(sqlite3_file* file) { shim(file).real()->pMethods->xShmBarrier(shim(file).real()); }
int shim_shm_unmap(sqlite3_file* file, int remove) {
  return shim(file).real()->pMethods->xShmUnmap(shim(file).real(), remove);
}

const sqlite3_io_methods methods{2,           shim_close,     shim_read,     shim_write,     shim_truncate,
                                 shim_sync,   shim_size,      shim_lock,     shim_unlock,    shim_reserved,
                                 shim_control, shim_sector,   shim_character, shim_shm_map,  shim_shm_lock,
                                 shim_shm_barrier, shim_shm_unmap, nullptr,  nullptr};

int shim_open(sqlite3_vfs*, const char* name, sqlite3_file* file, int flags, int* out) {
  const int code = machine->xOpen(machine, name, shim(file).real(), flags, out);
  shim(file).base.pMethods = code == SQLITE_OK ? &methods : nullptr;
  const bool kept = name != nullptr && (flags & (SQLITE_OPEN_MAIN_DB | SQLITE_OPEN_WAL)) != 0;
  shim(file).path = code == SQLITE_OK && kept ? new std::string{name} : nullptr;
  if (shim(file).path != nullptr) disk->opened(name);
  return code;
}
int shim_delete(sqlite3_vfs*, const char* name, int sync) {
  disk->deleted(name);
  return machine->xDelete(machine, name, sync);
}

sqlite3_vfs vfs;

std::string content_of(const std::string& path) {
  std::ifstream file{path, std::ios::binary};
  return {std::istreambuf_iterator<char>{file}, {}};
}

}  // namespace

BadDisk::BadDisk() {
  disk = this;
  machine = sqlite3_vfs_find(nullptr);
  vfs = *machine;
  vfs.zName = name;
  vfs.pNext = nullptr;
  vfs.szOsFile = static_cast<int>(sizeof(ShimFile)) + machine->szOsFile;
  vfs.xOpen = shim_open;
  vfs.xDelete = shim_delete;
  sqlite3_vfs_register(&vfs, 0);
}

BadDisk::~BadDisk() {
  sqlite3_vfs_unregister(&vfs);
  disk = nullptr;
}

std::int64_t BadDisk::calls() const {
  const std::lock_guard lock{mutex_};
  return calls_;
}

void BadDisk::fail_at(std::int64_t call, DiskFault fault, bool for_ever) {
  const std::lock_guard lock{mutex_};
  fault_ = Fault{call, fault, for_ever};
}

void BadDisk::full_beyond(std::int64_t bytes) {
  const std::lock_guard lock{mutex_};
  room_ = bytes;
}

void BadDisk::mend() {
  const std::lock_guard lock{mutex_};
  fault_.reset();
  room_ = INT64_MAX;
}

void BadDisk::cut_power_at(std::int64_t call, std::uint64_t seed) {
  const std::lock_guard lock{mutex_};
  cut_at_ = call;
  seed_ = seed;
}

void BadDisk::opened(const std::string& path) {
  const std::lock_guard lock{mutex_};
  auto [place, is_new] = files_.try_emplace(path);
  if (!is_new) return;
  place->second.synced = content_of(path);
  place->second.size = static_cast<std::int64_t>(place->second.synced.size());
}

void BadDisk::deleted(const std::string& path) {
  const std::lock_guard lock{mutex_};
  files_.erase(path);
}

void BadDisk::count_call() {
  ++calls_;
  if (cut_at_ != 0 && calls_ >= cut_at_) cut_power();
}

bool BadDisk::fails(bool is_sync, DiskFault& kind) {
  if (!fault_ || calls_ < fault_->call || is_sync != (fault_->kind == DiskFault::sync_fails)) return false;
  kind = fault_->kind;
  if (!fault_->for_ever) fault_.reset();
  return true;
}

int BadDisk::write(const std::string& path, const void* bytes, int count, std::int64_t offset, bool& short_write) {
  const std::lock_guard lock{mutex_};
  File& file = files_[path];
  DiskFault kind{};
  int code = SQLITE_OK;
  if (fails(false, kind)) {
    short_write = kind == DiskFault::short_write;
    code = kind == DiskFault::full ? SQLITE_FULL : SQLITE_IOERR_WRITE;
    if (!short_write) return code;
    count /= 2;
  }
  std::int64_t taken = 0;
  for (const auto& [other, its] : files_) taken += its.size;
  if (offset + count > file.size && taken + offset + count - file.size > room_) return SQLITE_FULL;
  file.size = std::max(file.size, offset + count);
  file.unsynced.push_back({offset, std::string{static_cast<const char*>(bytes), static_cast<std::size_t>(count)}, false});
  count_call();
  return code;
}

int BadDisk::truncate(const std::string& path, std::int64_t size) {
  const std::lock_guard lock{mutex_};
  File& file = files_[path];
  file.size = size;
  file.unsynced.push_back({size, {}, true});
  count_call();
  return SQLITE_OK;
}

int BadDisk::sync(const std::string& path) {
  const std::lock_guard lock{mutex_};
  File& file = files_[path];
  count_call();
  DiskFault kind{};
  if (fails(true, kind)) {
    file.unsynced.clear();  // Held for clean from now on, and never written.
    return SQLITE_IOERR_FSYNC;
  }
  for (const Change& change : file.unsynced) apply(file.synced, change);
  file.unsynced.clear();
  return SQLITE_OK;
}

void BadDisk::apply(std::string& content, const Change& change) {
  const auto offset = static_cast<std::size_t>(change.offset);
  if (change.truncates) {
    content.resize(offset);
    return;
  }
  if (content.size() < offset + change.bytes.size()) content.resize(offset + change.bytes.size());
  content.replace(offset, change.bytes.size(), change.bytes);
}

void BadDisk::cut_power() {
  std::mt19937_64 draw{seed_};
  for (auto& [path, file] : files_) {
    for (Change& change : file.unsynced) {
      const auto fate = draw() % 3;
      if (fate == 0) continue;
      if (fate == 1 && !change.truncates) change.bytes.resize(draw() % (change.bytes.size() / 512 + 1) * 512);
      apply(file.synced, change);
    }
    std::ofstream{path, std::ios::binary | std::ios::trunc} << file.synced;
    ::unlink((path + "-shm").c_str());
  }
  ::kill(::getpid(), SIGKILL);
}

}  // namespace standfast::testing
