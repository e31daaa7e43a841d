// The few calls of the system that the rig's server needs. Errors are sentences.
#pragma once

#include <cstdint>
#include <string>
#include <utility>

#include "config/result.hpp"

namespace standfast::rig {

class Descriptor {  // Owns an open file of the system.
 public:
  Descriptor() = default;
  explicit Descriptor(int number) : number_{number} {}
  Descriptor(Descriptor&& other) noexcept : number_{std::exchange(other.number_, -1)} {}
  Descriptor& operator=(Descriptor&& other) noexcept {
    std::swap(number_, other.number_);
    return *this;
  }
  ~Descriptor();
  int get() const { return number_; }

 private:
  int number_{-1};
};

struct TcpListener {
  Descriptor socket;
  std::uint16_t port{0};  // The one really bound, where 0 was asked for.
};

// `host` is an IPv4 literal.
Result<TcpListener, std::string> listen_tcp(const std::string& host, std::uint16_t port);
// Only its owner may talk to it; a socket that a dead program left there is replaced.
Result<Descriptor, std::string> listen_unix(const std::string& path);
// A new connection that never blocks; an invalid descriptor where there is none.
Descriptor accept_from(const Descriptor& listener);

}  // namespace standfast::rig
