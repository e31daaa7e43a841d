#include "drivers/serial_claim.hpp"

#include <fcntl.h>
#include <linux/serial.h>
#include <sys/file.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <system_error>

#include "drivers/descriptors.hpp"

namespace standfast {

namespace {

// A converter on USB otherwise gathers bytes for up to 16 ms.
void ask_for_low_latency(int descriptor) {
  serial_struct serial{};
  if (::ioctl(descriptor, TIOCGSERIAL, &serial) != 0) return;
  serial.flags |= ASYNC_LOW_LATENCY;
  (void)::ioctl(descriptor, TIOCSSERIAL, &serial);
}

bool same(const termios& a, const termios& b) {
  return a.c_iflag == b.c_iflag && a.c_oflag == b.c_oflag && a.c_cflag == b.c_cflag && a.c_lflag == b.c_lflag &&
         std::equal(std::begin(a.c_cc), std::end(a.c_cc), std::begin(b.c_cc)) && ::cfgetispeed(&a) == ::cfgetispeed(&b) &&
         ::cfgetospeed(&a) == ::cfgetospeed(&b);
}

}  // namespace

Flaw SerialClaim::take(const std::string& device) {
  release();
  error_ = EMFILE;
  if (!descriptors_low_enough()) return Flaw::not_connected;
  guard_ = ::open(device.c_str(), O_RDONLY | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
  error_ = errno;
  if (guard_ < 0) return error_ == EBUSY ? Flaw::line_in_use : Flaw::not_connected;
  if (::flock(guard_, LOCK_EX | LOCK_NB) == 0) return Flaw::none;
  error_ = errno == EWOULDBLOCK ? EBUSY : errno;  // The lock's own word for it tells a person nothing.
  release();
  return error_ == EBUSY ? Flaw::line_in_use : Flaw::not_connected;
}

bool SerialClaim::settle(int descriptor) {
  line_ = descriptor;
  if (::tcgetattr(line_, &settings_) != 0) return false;
  settings_.c_cc[VMIN] = 1;
  settings_.c_cc[VTIME] = 0;
  if (::tcsetattr(line_, TCSANOW, &settings_) != 0 || ::tcgetattr(line_, &settings_) != 0) return false;
  (void)::ioctl(line_, TIOCEXCL);
  ask_for_low_latency(line_);
  return true;
}

void SerialClaim::release() {
  if (guard_ >= 0) ::close(guard_);
  guard_ = line_ = -1;
  calls_ = 0;
}

bool SerialClaim::settings_changed() {
  if (line_ < 0 || ++calls_ % looks_every != 0) return false;
  termios now{};
  if (::tcgetattr(line_, &now) != 0 || same(now, settings_)) return false;  // Gone: the next read says so.
  (void)::tcsetattr(line_, TCSANOW, &settings_);
  return true;
}

std::string refusal_text(const std::string& device, int error) { return device + ": " + std::generic_category().message(error); }

int read_line(int descriptor, unsigned char* into, int most) {
  const ssize_t size = ::read(descriptor, into, static_cast<std::size_t>(most));
  if (size > 0) return static_cast<int>(size);
  if (size < 0) return would_block(errno) ? 0 : -1;
  termios settings{};  // A read of nothing: a line that hung up no longer answers for its settings.
  return ::tcgetattr(descriptor, &settings) == 0 ? 0 : -1;
}

}  // namespace standfast
