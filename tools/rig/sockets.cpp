#include "tools/rig/sockets.hpp"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

namespace standfast::rig {
namespace {

std::string trouble(const std::string& where) { return where + ": " + std::strerror(errno); }

sockaddr* as_any(void* address) { return static_cast<sockaddr*>(address); }

}  // namespace

Descriptor::~Descriptor() {
  if (number_ >= 0) ::close(number_);
}

Result<TcpListener, std::string> listen_tcp(const std::string& host, std::uint16_t port) {
  const std::string where = host + ":" + std::to_string(port);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_port = htons(port);
  if (::inet_pton(AF_INET, host.c_str(), &address.sin_addr) != 1) return Failure{where + ": not an IPv4 address"};
  Descriptor socket{::socket(AF_INET, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0)};
  const int on = 1;
  ::setsockopt(socket.get(), SOL_SOCKET, SO_REUSEADDR, &on, sizeof on);
  if (::bind(socket.get(), as_any(&address), sizeof address) != 0 || ::listen(socket.get(), 16) != 0) {
    return Failure{trouble(where)};
  }
  socklen_t size = sizeof address;
  if (::getsockname(socket.get(), as_any(&address), &size) != 0) return Failure{trouble(where)};
  return TcpListener{std::move(socket), ntohs(address.sin_port)};
}

Result<Descriptor, std::string> listen_unix(const std::string& path) {
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  if (path.empty() || path.size() >= sizeof address.sun_path) return Failure{path + ": too long for a socket's path"};
  std::memcpy(address.sun_path, path.c_str(), path.size() + 1);
  struct stat there {};
  if (::lstat(path.c_str(), &there) == 0) {
    if (!S_ISSOCK(there.st_mode)) return Failure{path + ": something else than a socket is there"};
    ::unlink(path.c_str());
  }
  Descriptor socket{::socket(AF_UNIX, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0)};
  if (::bind(socket.get(), as_any(&address), sizeof address) != 0 || ::chmod(path.c_str(), 0600) != 0 ||
      ::listen(socket.get(), 4) != 0) {
    return Failure{trouble(path)};
  }
  return socket;
}

Descriptor accept_from(const Descriptor& listener) {
  Descriptor connection{::accept4(listener.get(), nullptr, nullptr, SOCK_NONBLOCK | SOCK_CLOEXEC)};
  const int on = 1;
  if (connection.get() >= 0) ::setsockopt(connection.get(), IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
  return connection;
}

}  // namespace standfast::rig
