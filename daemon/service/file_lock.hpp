// One daemon for one job, one daemon for one station: a lock that the kernel takes back when the process is gone.
#pragma once

#include <string>
#include <utility>

#include "config/result.hpp"

namespace standfast {

class FileLock {
 public:
  // Creates the file where it is missing. The error says whether it cannot be made or is held by another.
  static Result<FileLock, std::string> take(const std::string& path);
  ~FileLock();
  FileLock(FileLock&& other) noexcept : fd_{std::exchange(other.fd_, -1)} {}
  FileLock& operator=(FileLock&& other) noexcept { std::swap(fd_, other.fd_); return *this; }

 private:
  explicit FileLock(int fd) : fd_{fd} {}
  int fd_;
};

}  // namespace standfast
