#include "tests/support/rtu_peer.hpp"

#include <fcntl.h>
#include <poll.h>
#include <unistd.h>

#include <stdexcept>

namespace standfast {

namespace {

// Bit by bit over the polynomial 8005, not reflected, and turned round at the end.
int checksum(const FrameBytes& bytes) {
  const auto turned = [](int value, int bits) {
    int result = 0;
    for (int i = 0; i < bits; ++i) result |= ((value >> i) & 1) << (bits - 1 - i);
    return result;
  };
  int crc = 0xFFFF;
  for (const std::uint8_t byte : bytes) {
    crc ^= turned(byte, 8) << 8;
    for (int bit = 0; bit < 8; ++bit) crc = ((crc << 1) ^ ((crc & 0x8000) != 0 ? 0x8005 : 0)) & 0xFFFF;
  }
  return turned(crc, 16);
}

// How long a request is that begins so; 0 where that cannot be told yet.
std::size_t length_of(const FrameBytes& begun) {
  if (begun.size() < 2) return 0;
  if (begun[1] != 15 && begun[1] != 16) return 8;
  return begun.size() < 7 ? 0 : 9u + begun[6];
}

}  // namespace

FrameBytes with_checksum(FrameBytes frame) {
  const int crc = checksum(frame);
  frame.push_back(static_cast<std::uint8_t>(crc & 0xFF));
  frame.push_back(static_cast<std::uint8_t>(crc >> 8));
  return frame;
}

void RtuTurn::send(const FrameBytes& bytes) {
  if (::write(line_, bytes.data(), bytes.size()) != static_cast<ssize_t>(bytes.size())) throw std::runtime_error("the line is full");
}

RtuPeer::RtuPeer(std::vector<Behaviour> script) : script_{std::move(script)} {
  for (int i = 0; i < 1000; ++i) {
    memory_.holding[i] = static_cast<std::uint16_t>(i * 257 + 3);
    memory_.input[i] = static_cast<std::uint16_t>(i * 263 + 5);
    memory_.coils[i] = i % 3 == 0;
    memory_.discrete[i] = i % 5 == 0;
  }
  start();
}

RtuPeer::~RtuPeer() { stop(); }

void RtuPeer::start() {
  if (::pipe2(wake_, O_CLOEXEC) != 0) throw std::runtime_error("no pipe");
  thread_ = std::thread{[this] { serve(); }};
}

void RtuPeer::stop() {
  if (!thread_.joinable()) return;
  ::close(wake_[1]);
  thread_.join();
  ::close(wake_[0]);
}

void RtuPeer::pull() {
  stop();
  line_.pull();
}

void RtuPeer::plug_in() {
  line_.plug_in();
  start();
}

ModbusRtu RtuPeer::address() const {
  ModbusRtu where;
  where.serial.device = line_.device();
  where.serial.baud = 115200;
  where.slowest_answer = milliseconds(2);
  return where;
}

void RtuPeer::serve() {
  FrameBytes begun;
  pollfd wait[]{{line_.end(), POLLIN, 0}, {wake_[0], POLLIN, 0}};
  while (::poll(wait, 2, -1) > 0 && wait[1].revents == 0) {
    std::uint8_t part[300];
    const ssize_t size = ::read(line_.end(), part, sizeof part);
    if (size <= 0) continue;
    begun.insert(begun.end(), part, part + size);
    for (std::size_t length; (length = length_of(begun)) != 0 && begun.size() >= length;) {
      const auto end = begun.begin() + static_cast<std::ptrdiff_t>(length);
      take({begun.begin(), end});
      begun.erase(begun.begin(), end);
    }
  }
}

void RtuPeer::take(const FrameBytes& request) {
  FrameBytes right;
  Behaviour behaviour;
  {
    const std::lock_guard lock{mutex_};
    requests_.push_back(request);
    if (request[1] == 8) {
      right = echoes_ ? request : with_checksum({request[0], 0x88, 1});
    } else {
      FrameBytes as_tcp{0, 0, 0, 0, 0, static_cast<std::uint8_t>(request.size() - 2)};
      as_tcp.insert(as_tcp.end(), request.begin(), request.end() - 2);
      const FrameBytes answer = memory_.answer(as_tcp);
      right = with_checksum({answer.begin() + 6, answer.end()});
    }
    behaviour = next_ < script_.size() ? script_[next_++] : whenever_;
  }
  RtuTurn turn{request, right, line_.end()};
  if (behaviour) behaviour(turn);
  else turn.answer();
}

void RtuPeer::change(const std::function<void(PeerMemory&)>& how) {
  const std::lock_guard lock{mutex_};
  how(memory_);
}

PeerMemory RtuPeer::memory() const {
  const std::lock_guard lock{mutex_};
  return memory_;
}

void RtuPeer::then(Behaviour behaviour) {
  const std::lock_guard lock{mutex_};
  script_.push_back(std::move(behaviour));
}

void RtuPeer::whenever(Behaviour behaviour) {
  const std::lock_guard lock{mutex_};
  whenever_ = std::move(behaviour);
}

void RtuPeer::echoes(bool yes) {
  const std::lock_guard lock{mutex_};
  echoes_ = yes;
}

std::vector<FrameBytes> RtuPeer::requests() const {
  const std::lock_guard lock{mutex_};
  return requests_;
}

}  // namespace standfast
