// One open connection of the rig: Modbus over TCP or a serial line, lines of text, or control lines. It answers out of the
// plant; it owns no thread.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>

#include "tools/rig/outbox.hpp"
#include "tools/rig/plant.hpp"
#include "tools/rig/pseudo_terminal.hpp"
#include "tools/rig/sockets.hpp"

namespace standfast::rig {

class Connection {
 public:
  // With an `out` of its own, or one socket for both; they belong to the connection.
  Connection(Descriptor in, Descriptor out) : in_{std::move(in)}, out_{std::move(out)} {}
  explicit Connection(Descriptor both) : in_{std::move(both)} {}
  virtual ~Connection() = default;

  int in() const { return in_.get(); }
  virtual bool listens() const { return true; }  // False: there is nobody at the other end to listen to.

  bool receive(Plant& plant, Instant now);  // False: it is over and is to be dropped.
  virtual bool look_again(Plant& plant, Instant now) { return work(plant, now) && send(now); }  // After time has passed.
  // When it has something to do by itself.
  virtual std::optional<Instant> next() const { return later_.next(); }

 protected:
  void say(std::span<const std::uint8_t> bytes) { waiting_.insert(waiting_.end(), bytes.begin(), bytes.end()); }
  void say_later(Instant from, const Bytes& bytes, Duration per_byte) { later_.put(from, bytes, per_byte); }
  void forget_what_waits() {
    waiting_.clear();
    later_.clear();
  }
  virtual void add(std::span<const std::uint8_t> bytes, Instant now) = 0;
  virtual bool work(Plant& plant, Instant now) = 0;  // Answers what it can; false: the other side talks nonsense.
  virtual bool goes_on_without_peer() { return false; }

 private:
  bool send(Instant now);  // What is due; false: it is over.

  Descriptor in_, out_;
  Bytes waiting_;
  Outbox later_;
};

// Requests of one bus.
std::unique_ptr<Connection> modbus_connection(Descriptor socket, BusId bus);
// One command a line, one answer a line. `wait` answers when the pump stands.
std::unique_ptr<Connection> control_connection(Descriptor in, Descriptor out);

}  // namespace standfast::rig
