// An instrument on a serial line that speaks text, and behaves as the test says, question by question. What it says is put
// together by the test and not by the drivers' codec, so that one can catch the other.
#pragma once

#include <functional>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "config/rig.hpp"
#include "tests/support/pseudo_line.hpp"

namespace standfast {

class LinePeer {
 public:
  // What is said to one question; the test may keep it and say more later by `say`.
  using Behaviour = std::function<void(LinePeer&)>;

  // Asked "?\r" it says `answer`, unless a behaviour for that question was given.
  explicit LinePeer(std::string answer = "D1.250 mm\r\n");
  ~LinePeer();
  LinePeer(const LinePeer&) = delete;
  LinePeer& operator=(const LinePeer&) = delete;

  SerialLines address() const;     // Asked "?\r", answer "D{value} mm", slowest answer 2 ms.
  PseudoLine& line() { return line_; }
  void say(const std::string& text);  // Any thread.
  void then(Behaviour behaviour);     // Appends to the script.
  void then_say(const std::string& text);
  void answers(std::string answer);   // From now on, once the script is through.
  int questions() const;
  void pull();
  void plug_in();

 private:
  void serve();
  void start();
  void stop();

  PseudoLine line_;
  mutable std::mutex mutex_;
  std::string answer_;
  std::vector<Behaviour> script_;
  std::size_t next_{0};
  int questions_{0};
  int wake_[2]{-1, -1};
  std::thread thread_;
};

}  // namespace standfast
