// Instruments on a serial line that behave as the test says, request by request. Frames and checksum are put together here
// and not by the drivers' codec, so that one can catch the other. Every unit has the same memory.
#pragma once

#include <functional>
#include <mutex>
#include <thread>
#include <vector>

#include "tests/support/pseudo_line.hpp"
#include "tests/support/scripted_peer.hpp"

namespace standfast {

FrameBytes with_checksum(FrameBytes frame);

class RtuTurn {  // One request, in the peer's thread.
 public:
  const FrameBytes request;       // With unit and checksum.
  const FrameBytes right_answer;

  RtuTurn(FrameBytes asked, FrameBytes right, int line) : request{std::move(asked)}, right_answer{std::move(right)}, line_{line} {}
  void send(const FrameBytes& bytes);
  void answer() { send(right_answer); }

 private:
  int line_;
};

class RtuPeer {
 public:
  using Behaviour = std::function<void(RtuTurn&)>;

  // One behaviour for each request; afterwards every request is answered rightly.
  explicit RtuPeer(std::vector<Behaviour> script = {});
  ~RtuPeer();
  RtuPeer(const RtuPeer&) = delete;
  RtuPeer& operator=(const RtuPeer&) = delete;

  ModbusRtu address() const;           // 115200 baud, slowest answer 2 ms.
  PseudoLine& line() { return line_; }
  void change(const std::function<void(PeerMemory&)>& how);
  PeerMemory memory() const;
  void then(Behaviour behaviour);      // Appends to the script.
  void whenever(Behaviour behaviour);  // Instead of the right answer, once the script is through.
  void echoes(bool yes);               // Does it know function 8? Otherwise exception 1.
  std::vector<FrameBytes> requests() const;
  void pull();
  void plug_in();

 private:
  void serve();
  void take(const FrameBytes& request);
  void start();
  void stop();

  PseudoLine line_;
  mutable std::mutex mutex_;
  PeerMemory memory_;
  std::vector<Behaviour> script_;
  std::size_t next_{0};
  Behaviour whenever_;
  bool echoes_{true};
  std::vector<FrameBytes> requests_;
  int wake_[2]{-1, -1};
  std::thread thread_;
};

}  // namespace standfast
