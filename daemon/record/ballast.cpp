#include "daemon/record/ballast.hpp"

#include <fcntl.h>
#include <unistd.h>

namespace standfast::record {

bool Ballast::lay_down() const {
  if (bytes_ == 0) return true;
  std::error_code error;
  const auto there = std::filesystem::file_size(path_, error);
  if (!error && static_cast<std::int64_t>(there) == bytes_) return true;
  const auto space = std::filesystem::space(path_.parent_path(), error);
  if (error || space.available < 5 * static_cast<std::uintmax_t>(bytes_)) return false;
  const int file = ::open(path_.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC | O_NOFOLLOW, 0640);
  if (file < 0) return false;
  const bool whole = ::posix_fallocate(file, 0, bytes_) == 0;  // Unlike a sparse file, this takes the room.
  ::close(file);
  if (!whole) std::filesystem::remove(path_, error);
  return whole;
}

bool Ballast::give_back() const {
  std::error_code error;
  return std::filesystem::remove(path_, error) && !error;
}

}  // namespace standfast::record
