// A Modbus TCP device on loopback, served by libmodbus: 65 input registers, relays whose contacts follow their coils, and the
// settings of a simulated output module. It knows when an answer that carried a change left it, and when the coil of the
// raise permit was written.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <vector>

#include "config/instant.hpp"

namespace standfast::bench {

class Peer {
 public:
  Peer();  // Serves until the process ends, and must live as long.
  ~Peer();
  Peer(const Peer&) = delete;
  Peer& operator=(const Peer&) = delete;

  std::uint16_t port() const { return port_; }
  // So many registers from `first` on, at once; the instant of the change.
  struct Which { int first{0}, count{64}; };
  Instant change(std::uint16_t value, Which which);
  Instant change(std::uint16_t value) { return change(value, Which{}); }
  // When the coil came to stand so, which may be before the call. None: not within `patience`.
  std::optional<Instant> permit_stands(bool on, Duration patience);
  // When the answers left that carried the newest change, oldest first; at most a few.
  std::vector<Instant> carried() const;

 private:
  struct Device;
  void accept_all(int listener);
  void serve(int socket);

  std::uint16_t port_{0};
  std::unique_ptr<Device> device_;
};

}  // namespace standfast::bench
