// So many open files that the next descriptor is beyond what select() can hold.
#pragma once

#include <fcntl.h>
#include <sys/resource.h>
#include <unistd.h>

#include <algorithm>
#include <stdexcept>
#include <vector>

namespace standfast {

class ManyOpenFiles {
 public:
  explicit ManyOpenFiles(std::size_t count) {
    getrlimit(RLIMIT_NOFILE, &before_);
    rlimit more = before_;
    more.rlim_cur = std::max<rlim_t>(more.rlim_cur, count + 100);
    if (more.rlim_cur > before_.rlim_max || setrlimit(RLIMIT_NOFILE, &more) != 0) throw std::runtime_error("too few files allowed");
    while (files_.size() < count) files_.push_back(open("/dev/null", O_RDONLY | O_CLOEXEC));
    if (files_.back() < 1024) throw std::runtime_error("too few files open");
  }
  ~ManyOpenFiles() {
    for (const int file : files_) close(file);
    setrlimit(RLIMIT_NOFILE, &before_);
  }
  ManyOpenFiles(const ManyOpenFiles&) = delete;
  ManyOpenFiles& operator=(const ManyOpenFiles&) = delete;

 private:
  rlimit before_{};
  std::vector<int> files_;
};

}  // namespace standfast
