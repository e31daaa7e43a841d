// Listens to an open serial line in a thread of its own, so that each line of text has the instant at which it came, and an
// instrument that speaks by itself is never kept waiting in a buffer that drops the newest.
#pragma once

#include <condition_variable>
#include <mutex>
#include <thread>

#include "drivers/driver.hpp"
#include "drivers/line_codec.hpp"

namespace standfast {

class LineListener {
 public:
  // `descriptor` is open, does not block, and stays so as long as the listener lives; so does `clock`. Throws
  // std::system_error where there is no thread or no descriptor left.
  LineListener(int descriptor, const Clock& clock);
  ~LineListener();
  LineListener(const LineListener&) = delete;
  LineListener& operator=(const LineListener&) = delete;

  // All that has come is thrown away, and the next byte stands where `begin` says. True where that was more than ends of lines.
  bool forget(LineAssembler::Begin begin);

  struct Heard {
    Line line;           // With a flaw also: not_connected (the device is gone), no_answer, malformed.
    Instant at;          // When its end came, or when the wait ended.
    bool alone{true};    // Nothing had come before it or behind it.
  };
  // The newest line that came at `oldest` or later; each is given once. Waits for one until `deadline`.
  [[nodiscard]] Heard wait(Instant oldest, Instant deadline);

 private:
  void listen();
  bool take_what_is_there();

  const int line_;
  const Clock& clock_;
  int wake_[2]{-1, -1};
  std::mutex mutex_;  // Of all below, and of reading: what was read is never younger than what was forgotten.
  std::condition_variable changed_;
  LineAssembler assembler_{LineAssembler::Begin::within_a_line};
  Line newest_;
  Instant newest_at_{};
  int lines_{0};  // Since one was given or all were forgotten.
  bool gone_{false};
  std::thread thread_;
};

}  // namespace standfast
