// A disk that can be trusted with nothing: an SQLite VFS over the machine's own that forgets what was not synced, tears
// writes, fills up and fails at a chosen call. It keeps, beside each file, what would be left of it after a power cut.
//
// A write, a truncation and a sync are one call each, counted from 1 over all files but the shared memory.
// What stays of unsynced writes after a cut is drawn from the seed, each for itself: all of it, nothing, or its first
// sectors of 512 bytes. So writes also swap their order. After a failed sync, what was to be synced is never written: the
// file reads as if it were there until the power goes (so Linux file systems do: Rebello and others, "Can Applications
// Recover from fsync Failures?", USENIX ATC 2020).
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

namespace standfast::testing {

enum class DiskFault : std::uint8_t {
  write_fails,  // SQLITE_IOERR_WRITE, nothing written
  short_write,  // SQLITE_IOERR_WRITE, the first half written
  sync_fails,   // SQLITE_IOERR_FSYNC
  full,         // SQLITE_FULL
};

class BadDisk {
 public:
  BadDisk();  // One at a time in a process; connections must be closed before it goes.
  ~BadDisk();
  BadDisk(const BadDisk&) = delete;
  BadDisk& operator=(const BadDisk&) = delete;

  static constexpr const char* name = "bad_disk";

  std::int64_t calls() const;
  // The first call of the fault's kind (write or sync) from number `call` on; `for_ever`: all of them.
  void fail_at(std::int64_t call, DiskFault fault, bool for_ever = false);
  void full_beyond(std::int64_t bytes);  // In all files together; writes that make them grow further fail.
  void mend();                           // No faults any more, room for everything.
  // At this call: every file becomes what a power cut leaves of it, and this process is killed.
  void cut_power_at(std::int64_t call, std::uint64_t seed);

  // For the VFS alone.
  int write(const std::string& path, const void* bytes, int count, std::int64_t offset, bool& short_write);
  int truncate(const std::string& path, std::int64_t size);
  int sync(const std::string& path);
  void opened(const std::string& path);
  void deleted(const std::string& path);

 private:
  struct Change { std::int64_t offset; std::string bytes; bool truncates; };
  struct File { std::string synced; std::vector<Change> unsynced; std::int64_t size{0}; };
  struct Fault { std::int64_t call; DiskFault kind; bool for_ever; };

  bool fails(bool is_sync, DiskFault& kind);
  void count_call();
  void cut_power();
  static void apply(std::string& content, const Change& change);

  mutable std::mutex mutex_;
  std::map<std::string, File> files_;
  std::int64_t calls_{0}, room_{INT64_MAX}, cut_at_{0};
  std::uint64_t seed_{0};
  std::optional<Fault> fault_;
};

}  // namespace standfast::testing
