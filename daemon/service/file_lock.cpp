#include "daemon/service/file_lock.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

namespace standfast {

Result<FileLock, std::string> FileLock::take(const std::string& path) {
  const int fd = ::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0640);
  if (fd < 0) return Failure{path + ": " + std::strerror(errno)};
  FileLock lock{fd};
  if (::flock(fd, LOCK_EX | LOCK_NB) != 0)
    return Failure{errno == EWOULDBLOCK ? path + ": another standfastd holds it" : path + ": " + std::strerror(errno)};
  return lock;
}

FileLock::~FileLock() {
  if (fd_ >= 0) ::close(fd_);
}

}  // namespace standfast
