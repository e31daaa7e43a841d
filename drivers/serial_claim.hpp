// What a serial line needs of its device, whoever opens it: nobody else on it, settings that stay, no waiting for more bytes.
#pragma once

#include <termios.h>

#include <string>

#include "drivers/scan.hpp"

namespace standfast {

class SerialClaim {
 public:
  SerialClaim() = default;
  ~SerialClaim() { release(); }
  SerialClaim(const SerialClaim&) = delete;
  SerialClaim& operator=(const SerialClaim&) = delete;

  // Before the device is opened, so that a second program does not change the settings of a line in use: locked by flock,
  // which binds everybody who asks, root too. line_in_use: another holds it; not_connected: no such device.
  [[nodiscard]] Flaw take(const std::string& device);
  // The system's number for why `take` refused.
  [[nodiscard]] int error() const { return error_; }
  // What is open for us now, with its settings set: exclusive by TIOCEXCL, a read of nothing is told apart from a line that is
  // gone (VMIN 1), no waiting for more bytes where the device knows how (a pseudo terminal does not). False: it is gone.
  [[nodiscard]] bool settle(int descriptor);
  void release();

  // True where another program has changed the settings; they have been set back. Looks at every 32nd call.
  [[nodiscard]] bool settings_changed();

 private:
  static constexpr int looks_every = 32;

  int error_{0};
  int guard_{-1};  // Open for its lock alone.
  int line_{-1};
  termios settings_{};
  int calls_{0};
};

// `/dev/ttyS1: No such file or directory`
[[nodiscard]] std::string refusal_text(const std::string& device, int error);

// A read of an open line that has nothing to give now: 0. Gone (EIO, ENODEV, EBADF, hung up): -1. Else the bytes read.
[[nodiscard]] int read_line(int descriptor, unsigned char* into, int most);

}  // namespace standfast
