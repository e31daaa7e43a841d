#include "tools/standfast/http.hpp"

#include <sys/socket.h>
#include <sys/time.h>
#include <sys/un.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <string_view>

namespace standfast::client {
namespace {

constexpr int patience_s = 15;  // Longer than the daemon's own.
constexpr std::size_t answer_most = std::size_t{64} << 20;

class Socket {
 public:
  Socket() : fd_{::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0)} {}
  ~Socket() { if (fd_ >= 0) ::close(fd_); }
  Socket(const Socket&) = delete;
  Socket& operator=(const Socket&) = delete;

  bool connect(const std::string& path) {
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    if (fd_ < 0 || path.size() >= sizeof address.sun_path) return false;
    std::memcpy(address.sun_path, path.c_str(), path.size() + 1);
    const timeval patience{patience_s, 0};
    ::setsockopt(fd_, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
    ::setsockopt(fd_, SOL_SOCKET, SO_SNDTIMEO, &patience, sizeof patience);
    return ::connect(fd_, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0;
  }
  bool send(std::string_view bytes) {
    while (!bytes.empty()) {
      const ssize_t n = ::send(fd_, bytes.data(), bytes.size(), MSG_NOSIGNAL);
      if (n < 0 && errno == EINTR) continue;
      if (n <= 0) return false;
      bytes.remove_prefix(static_cast<std::size_t>(n));
    }
    return true;
  }
  // Everything until the other side closes.
  bool receive(std::string& all) {
    char piece[65536];
    while (all.size() < answer_most) {
      const ssize_t n = ::recv(fd_, piece, sizeof piece, 0);
      if (n < 0 && errno == EINTR) continue;
      if (n < 0) return false;
      if (n == 0) return true;
      all.append(piece, static_cast<std::size_t>(n));
    }
    return false;
  }

 private:
  int fd_;
};

// `HTTP/1.1 200 OK`, header lines, an empty line, the body. We asked for the connection to be closed behind it.
Result<HttpAnswer, std::string> parsed(const std::string& text) {
  const std::size_t end = text.find("\r\n\r\n");
  if (!text.starts_with("HTTP/1.") || text.size() < 12 || end == std::string::npos)
    return Failure{std::string("the daemon's answer was cut off; try again")};
  HttpAnswer answer;
  for (const char digit : text.substr(9, 3)) {
    if (digit < '0' || digit > '9') return Failure{std::string("the daemon's answer is not HTTP")};
    answer.status = answer.status * 10 + (digit - '0');
  }
  answer.body = text.substr(end + 4);
  return answer;
}

Result<HttpAnswer, std::string> ask(const std::string& socket, const std::string& request) {
  Socket connection;
  if (!connection.connect(socket))
    return Failure{"no daemon at " + socket + " (" + std::strerror(errno) + "); is standfastd running? See --station"};
  std::string text;
  if (!connection.send(request) || !connection.receive(text))
    return Failure{"the daemon at " + socket + " did not answer in " + std::to_string(patience_s) + " s"};
  return parsed(text);
}

}  // namespace

Result<HttpAnswer, std::string> get(const std::string& socket, const std::string& path) {
  return ask(socket, "GET " + path + " HTTP/1.1\r\nHost: standfast\r\nConnection: close\r\n\r\n");
}

Result<HttpAnswer, std::string> post(const std::string& socket, const std::string& path, const std::string& json) {
  return ask(socket, "POST " + path + " HTTP/1.1\r\nHost: standfast\r\nConnection: close\r\nContent-Type: application/json\r\n"
                     "Content-Length: " + std::to_string(json.size()) + "\r\n\r\n" + json);
}

}  // namespace standfast::client
