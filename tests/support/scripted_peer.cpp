#include "tests/support/scripted_peer.hpp"

#include <fcntl.h>
#include <linux/sockios.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <sched.h>
#include <sys/ioctl.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cerrno>
#include <chrono>
#include <stdexcept>

namespace standfast {

namespace {

int word(const FrameBytes& frame, std::size_t at) { return frame[at] << 8 | frame[at + 1]; }

FrameBytes with_header(const FrameBytes& request, const FrameBytes& pdu) {
  FrameBytes frame{request[0], request[1], 0, 0, 0, static_cast<std::uint8_t>(pdu.size() + 1), request[6]};
  frame.insert(frame.end(), pdu.begin(), pdu.end());
  return frame;
}

FrameBytes exception_pdu(const FrameBytes& request, std::uint8_t code) {
  return {static_cast<std::uint8_t>(request[7] + 0x80), code};
}

FrameBytes words_pdu(const FrameBytes& request, const std::map<int, std::uint16_t>& table) {
  const int start = word(request, 8), count = word(request, 10);
  FrameBytes pdu{request[7], static_cast<std::uint8_t>(2 * count)};
  for (int i = start; i < start + count; ++i) {
    const auto place = table.find(i);
    if (place == table.end()) return exception_pdu(request, 2);
    pdu.push_back(static_cast<std::uint8_t>(place->second / 256));
    pdu.push_back(static_cast<std::uint8_t>(place->second % 256));
  }
  return pdu;
}

FrameBytes bits_pdu(const FrameBytes& request, const std::map<int, bool>& table) {
  const int start = word(request, 8), count = word(request, 10);
  FrameBytes pdu{request[7], static_cast<std::uint8_t>(count / 8 + (count % 8 != 0))};
  pdu.resize(2u + pdu[1]);
  for (int i = 0; i < count; ++i) {
    const auto place = table.find(start + i);
    if (place == table.end()) return exception_pdu(request, 2);
    if (place->second) pdu[2 + static_cast<std::size_t>(i) / 8] |= static_cast<std::uint8_t>(1 << i % 8);
  }
  return pdu;
}

// On any port of loopback where it is 0.
int bound_socket(std::uint16_t& port, int family = AF_INET) {
  const int socket = ::socket(family, SOCK_STREAM | SOCK_CLOEXEC, 0), one = 1;
  ::setsockopt(socket, SOL_SOCKET, SO_REUSEADDR, &one, sizeof one);
  sockaddr_in here{};
  here.sin_family = AF_INET;
  here.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  here.sin_port = htons(port);
  sockaddr_in6 here6{};
  here6.sin6_family = AF_INET6;
  here6.sin6_addr = in6addr_loopback;
  here6.sin6_port = htons(port);
  socklen_t size = family == AF_INET ? sizeof here : sizeof here6;
  auto* plain = family == AF_INET ? reinterpret_cast<sockaddr*>(&here) : reinterpret_cast<sockaddr*>(&here6);
  if (socket < 0 || ::bind(socket, plain, size) != 0 || ::getsockname(socket, plain, &size) != 0)
    throw std::runtime_error("no port on loopback");
  port = ntohs(family == AF_INET ? here.sin_port : here6.sin6_port);
  return socket;
}

// False at the end of the connection.
bool read_whole(int socket, FrameBytes& into, std::size_t size) {
  while (into.size() < size) {
    std::uint8_t part[260];
    const ssize_t got = ::recv(socket, part, size - into.size(), 0);
    if (got < 0 && errno == EINTR) continue;
    if (got <= 0) return false;
    into.insert(into.end(), part, part + got);
  }
  return true;
}

}  // namespace

FrameBytes PeerMemory::answer(const FrameBytes& request) {
  for (const auto& [contact, coil] : contact_of_coil) discrete[contact] = coils[coil];
  const int start = word(request, 8), value = word(request, 10);
  const FrameBytes echo{request.begin() + 7, request.begin() + 12};
  switch (request[7]) {
    case 1: return with_header(request, bits_pdu(request, coils));
    case 2: return with_header(request, bits_pdu(request, discrete));
    case 3: return with_header(request, words_pdu(request, holding));
    case 4: return with_header(request, words_pdu(request, input));
    case 5: coils[start] = value == 0xFF00; return with_header(request, echo);
    case 6: holding[start] = static_cast<std::uint16_t>(value); return with_header(request, echo);
    case 15:
      for (int i = 0; i < value; ++i)
        coils[start + i] = (request[13 + static_cast<std::size_t>(i) / 8] >> i % 8 & 1) != 0;
      return with_header(request, echo);
    case 16:
      for (int i = 0; i < value; ++i)
        holding[start + i] = static_cast<std::uint16_t>(word(request, 13 + 2 * static_cast<std::size_t>(i)));
      return with_header(request, echo);
    default: return with_header(request, exception_pdu(request, 1));
  }
}

bool PeerTurn::send(const FrameBytes& bytes) {
  return ::send(socket_, bytes.data(), bytes.size(), MSG_NOSIGNAL) == static_cast<ssize_t>(bytes.size());
}

void PeerTurn::send_and_see_received(const FrameBytes& bytes) {
  send(bytes);
  for (int unacknowledged = 1; unacknowledged != 0 && ::ioctl(socket_, SIOCOUTQ, &unacknowledged) == 0;) ::sched_yield();
}

void PeerTurn::hang_up() {
  ::shutdown(socket_, SHUT_WR);
  tcp_info info{};
  do {
    socklen_t size = sizeof info;
    if (::getsockopt(socket_, IPPROTO_TCP, TCP_INFO, &info, &size) != 0) return;
  } while (info.tcpi_state == TCP_FIN_WAIT1 && ::sched_yield() == 0);
}

void PeerTurn::reset() {
  const linger now{1, 0};
  ::setsockopt(socket_, SOL_SOCKET, SO_LINGER, &now, sizeof now);
  // Takes the socket's place, so that the number stays ours while the connection is gone.
  const int other = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  ::dup3(other, socket_, O_CLOEXEC);
  ::close(other);
}

void PeerTurn::wait_for_close() {
  std::uint8_t part[260];
  while (true) {
    const ssize_t got = ::recv(socket_, part, sizeof part, 0);
    if (got < 0 && errno == EINTR) continue;
    if (got <= 0) return;
    burst_ += static_cast<int>(got);
  }
}

ScriptedPeer::ScriptedPeer(std::vector<Behaviour> script, const std::string& host) : host_{host}, script_{std::move(script)} {
  listener_ = bound_socket(port_, host.find(':') == std::string::npos ? AF_INET : AF_INET6);
  if (::listen(listener_, 8) != 0) throw std::runtime_error("cannot listen on loopback");
  for (int i = 0; i < 1000; ++i) {
    memory_.holding[i] = static_cast<std::uint16_t>(i * 257 + 3);
    memory_.input[i] = static_cast<std::uint16_t>(i * 263 + 5);
    memory_.coils[i] = i % 3 == 0;
    memory_.discrete[i] = i % 5 == 0;
  }
  thread_ = std::thread{[this] { serve(); }};
}

ScriptedPeer::~ScriptedPeer() {
  {
    const std::lock_guard lock{mutex_};
    ending_ = true;
    ::shutdown(listener_, SHUT_RDWR);
    if (current_ >= 0) ::shutdown(current_, SHUT_RDWR);
  }
  thread_.join();
  ::close(listener_);
}

void ScriptedPeer::serve() {
  while (true) {
    const int socket = ::accept4(listener_, nullptr, nullptr, SOCK_CLOEXEC);
    if (socket < 0) return;
    const int one = 1;
    ::setsockopt(socket, IPPROTO_TCP, TCP_NODELAY, &one, sizeof one);
    {
      const std::lock_guard lock{mutex_};
      if (ending_) {
        ::close(socket);
        return;
      }
      current_ = socket;
      ++connections_;
    }
    serve_connection(socket);
    const std::lock_guard lock{mutex_};
    current_ = -1;
    ++closes_;
    ::close(socket);
    changed_.notify_all();
  }
}

void ScriptedPeer::serve_connection(int socket) {
  while (true) {
    FrameBytes request;
    if (!read_whole(socket, request, 6) || !read_whole(socket, request, 6u + static_cast<unsigned>(word(request, 4)))) return;
    FrameBytes right;
    {
      const std::lock_guard lock{mutex_};
      requests_.push_back(request);
      right = memory_.answer(request);
    }
    PeerTurn turn{request, std::move(right), socket};
    if (const Behaviour behaviour = next_behaviour()) behaviour(turn);
    else turn.answer();
    const std::lock_guard lock{mutex_};
    unasked_ += turn.bytes_after_request();
  }
}

ScriptedPeer::Behaviour ScriptedPeer::next_behaviour() {
  const std::lock_guard lock{mutex_};
  return next_ < script_.size() ? script_[next_++] : Behaviour{};
}

void ScriptedPeer::change(const std::function<void(PeerMemory&)>& how) {
  const std::lock_guard lock{mutex_};
  how(memory_);
}

PeerMemory ScriptedPeer::memory() const {
  const std::lock_guard lock{mutex_};
  return memory_;
}

void ScriptedPeer::then(Behaviour behaviour) {
  const std::lock_guard lock{mutex_};
  script_.push_back(std::move(behaviour));
}

int ScriptedPeer::connections() const {
  const std::lock_guard lock{mutex_};
  return connections_;
}

std::vector<FrameBytes> ScriptedPeer::requests() const {
  const std::lock_guard lock{mutex_};
  return requests_;
}

int ScriptedPeer::unasked_bytes() const {
  const std::lock_guard lock{mutex_};
  return unasked_;
}

bool ScriptedPeer::wait_for_closes(int count) const {
  std::unique_lock lock{mutex_};
  return changed_.wait_for(lock, std::chrono::seconds{20}, [&] { return closes_ >= count; });
}

bool has_ipv6_loopback() {
  try {
    std::uint16_t port = 0;
    ::close(bound_socket(port, AF_INET6));
    return true;
  } catch (const std::runtime_error&) {
    return false;
  }
}

DeafPort::DeafPort() {
  listener_ = bound_socket(port_);
  if (::listen(listener_, 0) != 0) throw std::runtime_error("cannot listen on loopback");
  sockaddr_in there{};
  there.sin_family = AF_INET;
  there.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  there.sin_port = htons(port_);
  for (int i = 0; i < 4; ++i) {
    fillers_.push_back(::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0));
    if (::connect(fillers_.back(), reinterpret_cast<sockaddr*>(&there), sizeof there) != 0 && errno != EINPROGRESS)
      throw std::runtime_error("cannot fill the queue of a port on loopback");
  }
}

DeafPort::~DeafPort() {
  for (const int filler : fillers_) ::close(filler);
  ::close(listener_);
}

ClosedPort::ClosedPort() { socket_ = bound_socket(port_); }
ClosedPort::~ClosedPort() { ::close(socket_); }

void ClosedPort::open() {
  if (::listen(socket_, 8) != 0) throw std::runtime_error("cannot listen on loopback");
}

void ClosedPort::shut() {
  ::close(socket_);
  socket_ = bound_socket(port_);
}

}  // namespace standfast
