#include "tools/bench/paced_line.hpp"

#include <fcntl.h>
#include <poll.h>
#include <pty.h>
#include <sys/prctl.h>
#include <termios.h>
#include <unistd.h>

#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <vector>

#include "config/line_checksum.hpp"
#include "config/line_time.hpp"
#include "drivers/boot_clock.hpp"

namespace standfast {

namespace {

constexpr std::size_t question_bytes = 8;
constexpr Duration sleeps_short_by = microseconds(150);  // A sleeping core wakes so late; the rest is waited for awake.

using Bytes = std::vector<std::uint8_t>;

void wait_until(Instant due, const Clock& clock) {
  const Duration left = due - clock.now() - sleeps_short_by;
  if (left.ns > 0) std::this_thread::sleep_for(std::chrono::nanoseconds{left.ns});
  while (clock.now() < due) {}
}

void add_checksum(Bytes& frame) {
  const std::uint16_t crc = crc16(frame);
  frame.push_back(static_cast<std::uint8_t>(crc));
  frame.push_back(static_cast<std::uint8_t>(crc >> 8));
}

// Registers, or the question itself where it is function 8.
Bytes answer_to(const Bytes& question) {
  if (question[1] == 8) return question;
  const int start = question[2] << 8 | question[3], count = question[4] << 8 | question[5];
  Bytes answer{question[0], question[1], static_cast<std::uint8_t>(2 * count)};
  for (int i = start; i < start + count; ++i) {
    answer.push_back(static_cast<std::uint8_t>((i * 257 + 3) >> 8));
    answer.push_back(static_cast<std::uint8_t>(i * 257 + 3));
  }
  add_checksum(answer);
  return answer;
}

[[noreturn]] void give_up(const char* what) {
  std::fprintf(stderr, "paced line: %s\n", what);
  std::exit(1);
}

}  // namespace

PacedLine::PacedLine(const SerialSettings& serial) : serial_{serial} {
  termios raw{};
  ::cfmakeraw(&raw);
  ::cfsetspeed(&raw, B9600);
  char name[128];
  if (::openpty(&line_, &device_end_, name, &raw, nullptr) != 0 || ::pipe2(wake_, O_CLOEXEC) != 0) give_up("no pseudo terminal");
  device_ = name;
  thread_ = std::thread{[this] { serve(); }};
}

PacedLine::~PacedLine() {
  ::close(wake_[1]);
  thread_.join();
  for (const int descriptor : {wake_[0], line_, device_end_}) ::close(descriptor);
}

void PacedLine::serve() {
  (void)::prctl(PR_SET_TIMERSLACK, 1UL, 0UL, 0UL, 0UL);
  const BootClock clock;
  Bytes question;
  Instant begun;
  pollfd wait[]{{line_, POLLIN, 0}, {wake_[0], POLLIN, 0}};
  while (::poll(wait, 2, -1) > 0 && wait[1].revents == 0) {
    std::uint8_t part[question_bytes];
    const ssize_t size = ::read(line_, part, question_bytes - question.size());
    if (size <= 0) continue;
    if (question.empty()) begun = clock.now();  // Its first bit goes on the line.
    question.insert(question.end(), part, part + size);
    if (question.size() < question_bytes) continue;
    const Bytes answer = answer_to(question);
    const Instant from = begun + line_time(serial_, question_bytes) + silence_between_frames(serial_);
    for (std::size_t i = 0; i < answer.size(); ++i) {
      wait_until(from + line_time(serial_, i + 1), clock);
      if (::write(line_, &answer[i], 1) != 1) give_up("the line is full");
    }
    question.clear();
  }
}

}  // namespace standfast
