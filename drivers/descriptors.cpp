#include "drivers/descriptors.hpp"

#include <fcntl.h>
#include <poll.h>
#include <sys/select.h>
#include <unistd.h>

#include <cerrno>

namespace standfast {

namespace {

constexpr int descriptor_margin = 64;
static_assert(most_descriptors == FD_SETSIZE);

}  // namespace

bool descriptors_low_enough() {
  const int next = ::open("/dev/null", O_RDONLY | O_CLOEXEC);
  if (next < 0) return false;
  ::close(next);
  return next < most_descriptors - descriptor_margin;
}

bool wait_ready(int descriptor, short for_what, Instant deadline, const Clock& clock) {
  for (;;) {
    const Duration left = deadline - clock.now();
    if (left.ns <= 0) return false;
    pollfd wait{descriptor, for_what, 0};
    const timespec time{0, std::min(left, longest_kernel_wait).ns};
    const int count = ::ppoll(&wait, 1, &time, nullptr);
    if (count > 0 || (count < 0 && errno != EINTR)) return true;
  }
}

bool would_block(int error) { return error == EAGAIN || error == EWOULDBLOCK || error == EINTR; }

}  // namespace standfast
