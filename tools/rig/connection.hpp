// One open connection of the rig: Modbus or control lines. It answers out of the plant; it owns no thread.
#pragma once

#include <cstdint>
#include <memory>
#include <span>
#include <string>

#include "tools/rig/modbus_stream.hpp"
#include "tools/rig/plant.hpp"
#include "tools/rig/sockets.hpp"

namespace standfast::rig {

class Connection {
 public:
  // With an `out` of its own, or one socket for both; they belong to the connection.
  Connection(Descriptor in, Descriptor out) : in_{std::move(in)}, out_{std::move(out)} {}
  explicit Connection(Descriptor both) : in_{std::move(both)} {}
  virtual ~Connection() = default;

  int in() const { return in_.get(); }

  bool receive(Plant& plant);  // False: it is over and is to be dropped.
  bool send();                 // What waits; false: as above.
  bool look_again(Plant& plant) { return work(plant) && send(); }  // After time has passed.

 protected:
  void say(std::span<const std::uint8_t> bytes) { waiting_.insert(waiting_.end(), bytes.begin(), bytes.end()); }
  virtual void add(std::span<const std::uint8_t> bytes) = 0;
  virtual bool work(Plant& plant) = 0;  // Answers what it can; false: the other side talks nonsense.

 private:
  Descriptor in_, out_;
  Bytes waiting_;
};

// Requests of one bus.
std::unique_ptr<Connection> modbus_connection(Descriptor socket, BusId bus);
// One command a line, one answer a line. `wait` answers when the pump stands.
std::unique_ptr<Connection> control_connection(Descriptor in, Descriptor out);

}  // namespace standfast::rig
