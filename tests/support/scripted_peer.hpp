// An instrument on loopback that behaves as the test says: right, wrong or not at all, request by request. Its frames are
// put together here and not by the drivers' codec, so that one can catch the other.
#pragma once

#include <condition_variable>
#include <cstdint>
#include <functional>
#include <map>
#include <mutex>
#include <thread>
#include <vector>

#include "config/rig.hpp"

namespace standfast {

using FrameBytes = std::vector<std::uint8_t>;

// What the peer holds; an address that is not in it is answered with exception 2.
struct PeerMemory {
  std::map<int, std::uint16_t> holding, input;
  std::map<int, bool> coils, discrete;
  std::map<int, int> contact_of_coil;  // A discrete input that follows a coil.

  FrameBytes answer(const FrameBytes& request);  // Carries out a write.
};

class PeerTurn {  // One request on one connection, in the peer's thread.
 public:
  PeerTurn(const FrameBytes& asked, FrameBytes right, int socket) : request{asked}, right_answer{std::move(right)}, socket_{socket} {}

  const FrameBytes& request;
  const FrameBytes right_answer;

  bool send(const FrameBytes& bytes);  // False once the other side has closed.
  void answer() { send(right_answer); }
  void send_and_see_received(const FrameBytes& bytes);  // They lie in the other side's socket when this returns.
  void hang_up();          // Orderly; the other side's socket knows when this returns.
  void reset();            // As a gateway that has forgotten the connection does.
  void wait_for_close();   // Until the other side closes. Whatever it sends before that is counted as a burst.
  int bytes_after_request() const { return burst_; }

 private:
  int socket_;
  int burst_{0};
};

class ScriptedPeer {
 public:
  using Behaviour = std::function<void(PeerTurn&)>;

  // One behaviour for each request, whatever connection it comes on; afterwards every request is answered rightly. One
  // connection is served at a time.
  explicit ScriptedPeer(std::vector<Behaviour> script = {}, const std::string& host = "127.0.0.1");
  ~ScriptedPeer();
  ScriptedPeer(const ScriptedPeer&) = delete;
  ScriptedPeer& operator=(const ScriptedPeer&) = delete;

  ModbusTcp address() const { return {host_, port_}; }
  void change(const std::function<void(PeerMemory&)>& how);
  PeerMemory memory() const;
  void then(Behaviour behaviour);  // Appends to the script.

  int connections() const;
  std::vector<FrameBytes> requests() const;
  int unasked_bytes() const;               // Sent by the other side while a request was outstanding.
  // Returns when so many connections have been closed by the other side; false if that never comes (after 20 s).
  [[nodiscard]] bool wait_for_closes(int count) const;

 private:
  void serve();
  void serve_connection(int socket);
  Behaviour next_behaviour();

  std::string host_;
  int listener_{-1};
  std::uint16_t port_{0};
  mutable std::mutex mutex_;
  mutable std::condition_variable changed_;
  PeerMemory memory_;
  std::vector<Behaviour> script_;
  std::size_t next_{0};
  std::vector<FrameBytes> requests_;
  int connections_{0}, closes_{0}, unasked_{0}, current_{-1};
  bool ending_{false};
  std::thread thread_;
};

bool has_ipv6_loopback();

// A listening port of loopback whose queue is full: who connects hears nothing at all.
class DeafPort {
 public:
  DeafPort();
  ~DeafPort();
  DeafPort(const DeafPort&) = delete;
  DeafPort& operator=(const DeafPort&) = delete;
  ModbusTcp address() const { return {"127.0.0.1", port_}; }

 private:
  int listener_{-1};
  std::vector<int> fillers_;
  std::uint16_t port_{0};
};

// A port of loopback on which nobody listens, and nobody else can, until it is opened.
class ClosedPort {
 public:
  ClosedPort();
  ~ClosedPort();
  ClosedPort(const ClosedPort&) = delete;
  ClosedPort& operator=(const ClosedPort&) = delete;
  ModbusTcp address() const { return {"127.0.0.1", port_}; }
  void open();  // Connections are taken from now on, and not answered.
  void shut();  // Connections are refused again.

 private:
  int socket_{-1};
  std::uint16_t port_{0};
};

}  // namespace standfast
