// A unit on a serial line that takes the time of the line: each byte of a question and of its answer lasts as long as its bits do
// at the stated speed, and the silence that the specification asks for lies behind the question. The unit itself needs none.
#pragma once

#include <string>
#include <thread>

#include "config/rig.hpp"

namespace standfast {

class PacedLine {
 public:
  // Only speed, parity and stop bits of `serial` count. Holding register n reads n times 257 plus 3.
  explicit PacedLine(const SerialSettings& serial);
  ~PacedLine();
  PacedLine(const PacedLine&) = delete;
  PacedLine& operator=(const PacedLine&) = delete;

  // The other end.
  const std::string& device() const { return device_; }

 private:
  void serve();

  SerialSettings serial_;
  std::string device_;
  int line_{-1}, device_end_{-1};
  int wake_[2]{-1, -1};
  std::thread thread_;
};

}  // namespace standfast
