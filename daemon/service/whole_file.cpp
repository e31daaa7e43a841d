#include "daemon/service/whole_file.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>
#include <utility>

namespace standfast {
namespace {

// A file descriptor that closes itself.
class Descriptor {
 public:
  explicit Descriptor(int fd) : fd_{fd} {}
  ~Descriptor() { if (fd_ >= 0) ::close(fd_); }
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  operator int() const { return fd_; }

 private:
  int fd_;
};

std::string system_words() { return std::strerror(errno); }

bool write_all(int fd, const std::string& bytes) {
  std::size_t done = 0;
  while (done < bytes.size()) {
    const ssize_t n = ::write(fd, bytes.data() + done, bytes.size() - done);
    if (n < 0 && errno == EINTR) continue;
    if (n <= 0) return false;
    done += static_cast<std::size_t>(n);
  }
  return true;
}

Result<std::string, std::string> read_all(int fd, std::size_t most) {
  std::string bytes;
  char piece[65536];
  while (true) {
    const ssize_t n = ::read(fd, piece, sizeof piece);
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) return Failure{system_words()};
    if (n == 0) return bytes;
    bytes.append(piece, static_cast<std::size_t>(n));
    if (bytes.size() > most) return Failure{"longer than " + std::to_string(most) + " bytes"};
  }
}

bool sync_folder_of(const std::string& path) {
  const Descriptor folder{::open(std::filesystem::path(path).parent_path().c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC)};
  return folder >= 0 && ::fsync(folder) == 0;
}

}  // namespace

bool exists(const std::string& path) {
  struct stat facts {};
  return ::lstat(path.c_str(), &facts) == 0;
}

Result<std::string, std::string> read_whole_file(const std::string& path, std::size_t most) {
  const Descriptor fd{::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK)};
  if (fd < 0) return Failure{system_words()};
  struct stat facts {};
  if (::fstat(fd, &facts) != 0) return Failure{system_words()};
  if (!S_ISREG(facts.st_mode)) return Failure{std::string("not a regular file")};
  return read_all(fd, most);
}

Result<bool, std::string> replace_file(const std::string& path, const std::string& bytes) {
  const std::string beside = path + ".partial";
  {
    const Descriptor fd{::open(beside.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC | O_NOFOLLOW, 0644)};
    if (fd < 0 || ::fchmod(fd, 0644) != 0 || !write_all(fd, bytes) || ::fsync(fd) != 0) return Failure{beside + ": " + system_words()};
  }
  if (::rename(beside.c_str(), path.c_str()) != 0) return Failure{path + ": " + system_words()};
  if (!sync_folder_of(path)) return Failure{path + ": " + system_words()};
  return true;
}

Result<std::string, std::string> read_secret_file(const std::string& path, std::size_t most) {
  const Descriptor fd{::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOFOLLOW)};
  struct stat facts {};
  if (fd < 0 || ::fstat(fd, &facts) != 0) return Failure{path + ": " + system_words()};
  if (!S_ISREG(facts.st_mode)) return Failure{path + ": not a regular file"};
  if (facts.st_uid != ::geteuid()) return Failure{path + ": belongs to somebody else"};
  if ((facts.st_mode & 077) != 0) return Failure{path + ": others may read or write it"};
  auto bytes = read_all(fd, most);
  return bytes ? std::move(bytes) : Failure{path + ": " + bytes.error()};
}

Result<bool, std::string> create_secret_file(const std::string& path, const std::string& bytes) {
  const std::string beside = path + ".partial";
  ::unlink(beside.c_str());  // Of an attempt that did not end.
  bool made = false;
  {
    const Descriptor fd{::open(beside.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0600)};
    made = fd >= 0 && write_all(fd, bytes) && ::fsync(fd) == 0 && ::link(beside.c_str(), path.c_str()) == 0;
  }
  const std::string why = made ? std::string{} : system_words();
  ::unlink(beside.c_str());
  if (!made) return Failure{path + ": " + why};
  if (!sync_folder_of(path)) return Failure{path + ": " + system_words()};
  return true;
}

}  // namespace standfast
