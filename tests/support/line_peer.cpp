#include "tests/support/line_peer.hpp"

#include <fcntl.h>
#include <poll.h>
#include <unistd.h>

#include <stdexcept>
#include <utility>

namespace standfast {

LinePeer::LinePeer(std::string answer) : answer_{std::move(answer)} { start(); }

LinePeer::~LinePeer() { stop(); }

void LinePeer::start() {
  if (::pipe2(wake_, O_CLOEXEC) != 0) throw std::runtime_error("no pipe");
  thread_ = std::thread{[this] { serve(); }};
}

void LinePeer::stop() {
  if (!thread_.joinable()) return;
  ::close(wake_[1]);
  thread_.join();
  ::close(wake_[0]);
}

void LinePeer::pull() {
  stop();
  line_.pull();
}

void LinePeer::plug_in() {
  line_.plug_in();
  start();
}

SerialLines LinePeer::address() const {
  SerialLines wire;
  wire.serial.device = line_.device();
  wire.serial.baud = 115200;
  wire.ask = "?\r";
  wire.answer = "D{value} mm";
  wire.slowest_answer = milliseconds(2);
  return wire;
}

void LinePeer::say(const std::string& text) {
  if (::write(line_.end(), text.data(), text.size()) != static_cast<ssize_t>(text.size())) throw std::runtime_error("the line is full");
}

void LinePeer::serve() {
  pollfd wait[]{{line_.end(), POLLIN, 0}, {wake_[0], POLLIN, 0}};
  while (::poll(wait, 2, -1) > 0 && wait[1].revents == 0) {
    char part[100];
    const ssize_t size = ::read(line_.end(), part, sizeof part);
    for (ssize_t i = 0; i < size; ++i) {
      if (part[i] != '\r') continue;
      Behaviour behaviour;
      std::string answer;
      {
        const std::lock_guard lock{mutex_};
        ++questions_;
        if (next_ < script_.size()) behaviour = script_[next_++];
        answer = answer_;
      }
      behaviour ? behaviour(*this) : say(answer);
    }
  }
}

void LinePeer::then(Behaviour behaviour) {
  const std::lock_guard lock{mutex_};
  script_.push_back(std::move(behaviour));
}

void LinePeer::then_say(const std::string& text) {
  then([text](LinePeer& peer) { peer.say(text); });
}

void LinePeer::answers(std::string answer) {
  const std::lock_guard lock{mutex_};
  answer_ = std::move(answer);
}

int LinePeer::questions() const {
  const std::lock_guard lock{mutex_};
  return questions_;
}

}  // namespace standfast
