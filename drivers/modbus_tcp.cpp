#include "drivers/modbus_tcp.hpp"

#include <arpa/inet.h>
#include <fcntl.h>
#include <modbus/modbus.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>

namespace standfast {

namespace {

constexpr Duration shortest_pause = milliseconds(100), longest_pause = seconds(1);

// libmodbus waits for its connection with select(), which writes beyond its set for a descriptor from 1024 on. The margin
// is for descriptors that other threads open in between.
constexpr int most_descriptors = FD_SETSIZE, descriptor_margin = 64;

bool descriptors_low_enough() {
  const int next = ::open("/dev/null", O_RDONLY | O_CLOEXEC);
  if (next < 0) return false;
  ::close(next);
  return next < most_descriptors - descriptor_margin;
}

bool set_option(int socket, int level, int name, int value) {
  return ::setsockopt(socket, level, name, &value, sizeof value) == 0;
}

// The deadline of a request is ours; these end what the kernel alone would keep alive for minutes: a cable pulled, a
// gateway without power.
bool set_options(int socket) {
  return set_option(socket, IPPROTO_TCP, TCP_NODELAY, 1) && set_option(socket, SOL_SOCKET, SO_KEEPALIVE, 1) &&
         set_option(socket, IPPROTO_TCP, TCP_KEEPIDLE, 5) && set_option(socket, IPPROTO_TCP, TCP_KEEPINTVL, 1) &&
         set_option(socket, IPPROTO_TCP, TCP_KEEPCNT, 3) && set_option(socket, IPPROTO_TCP, TCP_USER_TIMEOUT, 2000);
}

// On loopback a socket can meet itself, where nobody listens on a port that the kernel also hands out: it would read its
// own requests, and the echo of a write would be perfect.
bool met_itself(int socket) {
  sockaddr_storage here{}, there{};
  socklen_t here_size = sizeof here, there_size = sizeof there;
  return ::getsockname(socket, reinterpret_cast<sockaddr*>(&here), &here_size) != 0 ||
         ::getpeername(socket, reinterpret_cast<sockaddr*>(&there), &there_size) != 0 ||
         (here_size == there_size && std::memcmp(&here, &there, here_size) == 0);
}

bool is_of_family(int family, const std::string& host) {
  std::array<unsigned char, sizeof(in6_addr)> address{};
  return ::inet_pton(family, host.c_str(), address.data()) == 1;
}

modbus_t* new_context(const ModbusTcp& where) {
  if (is_of_family(AF_INET, where.host)) return modbus_new_tcp(where.host.c_str(), where.port);
  ENSURE(is_ip_literal(where.host));  // Handed to getaddrinfo, which then has nothing to look up.
  return modbus_new_tcp_pi(where.host.c_str(), std::to_string(where.port).c_str());
}

bool would_block(int error) { return error == EAGAIN || error == EWOULDBLOCK || error == EINTR; }

}  // namespace

bool is_ip_literal(const std::string& host) { return is_of_family(AF_INET, host) || is_of_family(AF_INET6, host); }

void ModbusTcpConnection::FreeContext::operator()(_modbus* context) const { modbus_free(context); }

ModbusTcpConnection::ModbusTcpConnection(const ModbusTcp& where, const Clock& clock)
    : context_{new_context(where)}, clock_{clock} {
  ENSURE(context_ != nullptr);  // Refused only without memory.
  modbus_set_error_recovery(context_.get(), MODBUS_ERROR_RECOVERY_NONE);
}

ModbusTcpConnection::~ModbusTcpConnection() { close(); }

void ModbusTcpConnection::close() {
  if (socket_ < 0) return;
  modbus_close(context_.get());
  socket_ = -1;
}

void ModbusTcpConnection::pause_after_failure() {
  pause_ = std::clamp(pause_ * 2, shortest_pause, longest_pause);
  next_attempt_ = clock_.now() + pause_;
}

bool ModbusTcpConnection::connect(Instant deadline) {
  if (connected()) return true;
  const Instant now = clock_.now();
  const std::int64_t left_us = (deadline - now).ns / 1000;
  if (now < next_attempt_ || left_us <= 0) return false;
  modbus_set_response_timeout(context_.get(), static_cast<std::uint32_t>(left_us / 1'000'000),
                              static_cast<std::uint32_t>(left_us % 1'000'000));
  // Judged by the return value alone: after a time-out libmodbus leaves errno as it was.
  if (!descriptors_low_enough() || modbus_connect(context_.get()) != 0) {
    pause_after_failure();
    return false;
  }
  socket_ = modbus_get_socket(context_.get());
  if (socket_ < 0 || socket_ >= most_descriptors || met_itself(socket_) || !set_options(socket_)) {
    close();
    pause_after_failure();
    return false;
  }
  pause_ = {};
  return true;
}

// True if the socket is ready, or broken, which the next call on it says. Waits in pieces by our own clock, for the
// kernel's wait does not count through suspend.
bool ModbusTcpConnection::ready(short for_what, Instant deadline) const {
  for (;;) {
    const Duration left = deadline - clock_.now();
    if (left.ns <= 0) return false;
    pollfd wait{socket_, for_what, 0};
    const timespec time{left.ns / 1'000'000'000, left.ns % 1'000'000'000};
    const int count = ::ppoll(&wait, 1, &time, nullptr);
    if (count > 0 || (count < 0 && errno != EINTR)) return true;
  }
}

// Nothing may lie in the socket before a request.
Flaw ModbusTcpConnection::unread() const {
  std::uint8_t byte = 0;
  const ssize_t size = ::recv(socket_, &byte, 1, MSG_DONTWAIT);
  if (size > 0) return Flaw::malformed;
  return size < 0 && would_block(errno) ? Flaw::none : Flaw::not_connected;
}

Flaw ModbusTcpConnection::send(std::span<const std::uint8_t> frame, Instant deadline) const {
  while (!frame.empty()) {
    const ssize_t size = ::send(socket_, frame.data(), frame.size(), MSG_DONTWAIT | MSG_NOSIGNAL);
    if (size >= 0) frame = frame.subspan(static_cast<std::size_t>(size));
    else if (!would_block(errno)) return Flaw::not_connected;
    else if (!ready(POLLOUT, deadline)) return Flaw::no_answer;
  }
  return Flaw::none;
}

ModbusTcpConnection::Answer ModbusTcpConnection::receive(std::span<const std::uint8_t> request, Instant deadline) {
  std::size_t have = 0;
  while (ready(POLLIN, deadline)) {
    const ssize_t size = ::recv(socket_, buffer_.data() + have, buffer_.size() - have, MSG_DONTWAIT);
    if (size < 0 && would_block(errno)) continue;
    if (size <= 0) return {have == 0 ? Flaw::not_connected : Flaw::malformed, {}};
    have += static_cast<std::size_t>(size);
    const std::span<const std::uint8_t> received{buffer_.data(), have};
    const std::optional<Flaw> flaw = judge_answer(request, received);
    if (!flaw) continue;
    if (*flaw != Flaw::none) return {*flaw, {}};
    if (clock_.now() > deadline) return {Flaw::no_answer, {}};
    return {Flaw::none, received};
  }
  return {have == 0 ? Flaw::no_answer : Flaw::malformed, {}};
}

ModbusTcpConnection::Answer ModbusTcpConnection::ask(ModbusRequest& request, Instant deadline) {
  ENSURE(connected());
  request.set_transaction(++transaction_);
  Answer answer{unread(), {}};
  if (answer.flaw != Flaw::none) answer.asked = false;
  else if (answer.flaw = send(request.frame(), deadline); answer.flaw == Flaw::none)
    answer = receive(request.frame(), deadline);
  if (answer.flaw != Flaw::none && !is_exception(answer.flaw)) close();
  return answer;
}

}  // namespace standfast
