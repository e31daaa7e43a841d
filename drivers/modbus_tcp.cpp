#include "drivers/modbus_tcp.hpp"

#include <arpa/inet.h>
#include <modbus/modbus.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <sys/socket.h>

#include <cerrno>
#include <cstring>

namespace standfast {

namespace {

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

std::string address_text(const ModbusTcp& where) {
  const std::string port = ":" + std::to_string(where.port);
  return is_of_family(AF_INET6, where.host) ? "[" + where.host + "]" + port : where.host + port;
}

// `error` as modbus_connect left errno, which was 0 before: after a time-out it is what a connection begun leaves behind.
std::string words_of(int error) {
  // libmodbus gives this word for other failures, too.
  if (error == ECONNREFUSED) return "refused, or no way there";
  return error == 0 || error == EINPROGRESS || error == ETIMEDOUT ? "does not answer" : modbus_strerror(error);
}

}  // namespace

bool is_ip_literal(const std::string& host) { return is_of_family(AF_INET, host) || is_of_family(AF_INET6, host); }

void ModbusTcpConnection::FreeContext::operator()(_modbus* context) const { modbus_free(context); }

ModbusTcpConnection::ModbusTcpConnection(const ModbusTcp& where, const Clock& clock)
    : context_{new_context(where)}, clock_{clock}, address_{address_text(where)} {
  ENSURE(context_ != nullptr);  // Refused only without memory.
  modbus_set_error_recovery(context_.get(), MODBUS_ERROR_RECOVERY_NONE);
}

ModbusTcpConnection::~ModbusTcpConnection() { close(); }

void ModbusTcpConnection::close() {
  if (socket_ < 0) return;
  modbus_close(context_.get());
  socket_ = -1;
}

bool ModbusTcpConnection::give_up(std::string why) {
  close();
  trouble_ = address_ + ": " + std::move(why);
  pause_.failed(clock_.now());
  return false;
}

bool ModbusTcpConnection::connect(Instant deadline) {
  if (connected()) return true;
  const Instant now = clock_.now();
  const std::int64_t left_us = (deadline - now).ns / 1000;
  if (!pause_.over(now) || left_us <= 0) return false;
  modbus_set_response_timeout(context_.get(), static_cast<std::uint32_t>(left_us / 1'000'000),
                              static_cast<std::uint32_t>(left_us % 1'000'000));
  if (!descriptors_low_enough()) return give_up("too many files are open");
  errno = 0;  // After a time-out libmodbus leaves it as it was.
  if (modbus_connect(context_.get()) != 0) return give_up(words_of(errno));
  socket_ = modbus_get_socket(context_.get());
  if (socket_ < 0 || socket_ >= most_descriptors) return give_up("too many files are open");
  if (met_itself(socket_)) return give_up("nobody listens there");
  if (!set_options(socket_)) return give_up("its connection cannot be set up");
  trouble_.clear();
  pause_.succeeded();
  return true;
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
    else if (!wait_ready(socket_, POLLOUT, deadline, clock_)) return Flaw::no_answer;
  }
  return Flaw::none;
}

ModbusConnection::Answer ModbusTcpConnection::receive(std::span<const std::uint8_t> sent, Instant deadline) {
  std::size_t have = 0;
  while (wait_ready(socket_, POLLIN, deadline, clock_)) {
    const ssize_t size = ::recv(socket_, buffer_.data() + have, buffer_.size() - have, MSG_DONTWAIT);
    if (size < 0 && would_block(errno)) continue;
    if (size <= 0) return {have == 0 ? Flaw::not_connected : Flaw::malformed, {}};
    have += static_cast<std::size_t>(size);
    const std::span<const std::uint8_t> received{buffer_.data(), have};
    const std::optional<Flaw> flaw = judge_tcp_answer(sent, received);
    if (!flaw) continue;
    if (*flaw != Flaw::none) return {*flaw, {}};
    if (clock_.now() > deadline) return {Flaw::no_answer, {}};
    return {Flaw::none, pdu_of_tcp(received)};
  }
  return {have == 0 ? Flaw::no_answer : Flaw::malformed, {}};
}

ModbusConnection::Answer ModbusTcpConnection::ask(const ModbusRequest& request, Instant deadline) {
  ENSURE(connected());
  const ModbusFrame frame = tcp_frame(request, ++transaction_);
  Answer answer{unread(), {}};
  if (answer.flaw != Flaw::none) answer.asked = false;
  else if (answer.flaw = send(frame.view(), deadline); answer.flaw == Flaw::none)
    answer = receive(frame.view(), deadline);
  if (answer.flaw != Flaw::none && !is_exception(answer.flaw)) close();
  return answer;
}

}  // namespace standfast
