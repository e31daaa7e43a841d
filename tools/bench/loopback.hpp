// A listening socket on this machine's loopback, at a port that nobody else has.
#pragma once

#include <arpa/inet.h>
#include <netinet/in.h>
#include <sys/socket.h>

#include <cstdint>

#include "tools/bench/figures.hpp"

namespace standfast::bench {

struct Listening {
  int socket{-1};
  std::uint16_t port{0};
};

// `waiting`: so many connections may wait to be accepted.
inline Listening listen_on_loopback(int waiting) {
  Listening listening{::socket(AF_INET, SOCK_STREAM, 0)};
  sockaddr_in here{};
  here.sin_family = AF_INET;
  here.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  socklen_t size = sizeof here;
  if (::bind(listening.socket, reinterpret_cast<sockaddr*>(&here), size) != 0 || ::listen(listening.socket, waiting) != 0)
    give_up("cannot listen");
  ::getsockname(listening.socket, reinterpret_cast<sockaddr*>(&here), &size);
  listening.port = ntohs(here.sin_port);
  return listening;
}

}  // namespace standfast::bench
