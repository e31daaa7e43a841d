#include "drivers/line_listener.hpp"

#include <fcntl.h>
#include <poll.h>
#include <termios.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <span>
#include <system_error>
#include <utility>

#include "drivers/descriptors.hpp"
#include "drivers/serial_claim.hpp"

namespace standfast {

namespace {

constexpr int most_parts = 16;  // Of a flood, at once; the kernel keeps 4 KiB.

}  // namespace

LineListener::LineListener(int descriptor, const Clock& clock) : line_{descriptor}, clock_{clock} {
  if (::pipe2(wake_, O_CLOEXEC) != 0) throw std::system_error{errno, std::generic_category()};
  try {
    thread_ = std::thread{[this] { listen(); }};
  } catch (const std::system_error&) {
    ::close(wake_[0]);
    ::close(wake_[1]);
    throw;
  }
}

LineListener::~LineListener() {
  ::close(wake_[1]);
  thread_.join();
  ::close(wake_[0]);
}

void LineListener::listen() {
  pollfd wait[]{{line_, POLLIN, 0}, {wake_[0], POLLIN, 0}};
  for (;;) {
    if (::poll(wait, 2, -1) < 0) continue;  // A signal.
    if (wait[1].revents != 0) return;
    const std::lock_guard lock{mutex_};
    const bool some = take_what_is_there();
    // Nothing to read where something was said to be there: hung up, in a way that the device does not tell.
    if (!some && (wait[0].revents & (POLLHUP | POLLERR | POLLNVAL)) != 0) gone_ = true;
    changed_.notify_all();
    if (gone_) return;
  }
}

bool LineListener::take_what_is_there() {
  unsigned char part[512];
  int size = 0, parts = 0;
  while (!gone_ && parts < most_parts && (size = read_line(line_, part, sizeof part)) > 0) {
    ++parts;
    const Instant now = clock_.now();
    for (const unsigned char byte : std::span{part, static_cast<std::size_t>(size)}) {
      std::optional<Line> line = assembler_.take(static_cast<char>(byte));
      if (!line) continue;
      newest_ = std::move(*line);
      newest_at_ = now;
      ++lines_;
    }
  }
  gone_ = gone_ || size < 0;
  return parts > 0;
}

bool LineListener::forget(LineAssembler::Begin begin) {
  const std::lock_guard lock{mutex_};
  (void)take_what_is_there();
  const bool some = lines_ > 0 || assembler_.has_begun();
  (void)::tcflush(line_, TCIFLUSH);
  assembler_ = LineAssembler{begin};
  lines_ = 0;
  return some;
}

LineListener::Heard LineListener::wait(Instant oldest, Instant deadline) {
  std::unique_lock lock{mutex_};
  for (;;) {
    if (lines_ > 0 && newest_at_ <= deadline) {  // What comes later is for the next poll.
      const bool alone = std::exchange(lines_, 0) == 1 && !assembler_.has_begun();
      if (newest_at_ >= oldest) return {std::move(newest_), newest_at_, alone};
    }
    const Instant now = clock_.now();
    if (gone_) return {{{}, Flaw::not_connected}, now};
    if (now >= deadline) return {{{}, assembler_.flaw_of_rest()}, now};
    const Duration wait = std::min(deadline - now, longest_kernel_wait);
    changed_.wait_for(lock, std::chrono::nanoseconds{wait.ns});
  }
}

}  // namespace standfast
