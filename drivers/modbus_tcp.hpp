// One Modbus TCP connection: sends a request, waits for exactly its answer, and closes at the first sign of anything else.
// libmodbus opens the socket; what is sent and received on it is ours, because libmodbus accepts answers from a wrong unit,
// with a wrong protocol or length, and does not bound the time of an answer that comes in drops.
//
// Used by one thread. At most one request is outstanding, ever. Nothing is asked twice and nothing is remembered between
// two requests: a late answer dies with the connection it came on.
// Not to be seen from here: a gateway to a serial line that puts the new transaction number on an old answer.
#pragma once

#include <array>
#include <memory>
#include <span>
#include <string>

#include "drivers/descriptors.hpp"
#include "drivers/modbus_connection.hpp"
#include "drivers/modbus_tcp_frame.hpp"

struct _modbus;  // libmodbus's context.

namespace standfast {

// IPv4 or IPv6; a name is none, for a look-up has no time limit.
[[nodiscard]] bool is_ip_literal(const std::string& host);

class ModbusTcpConnection final : public ModbusConnection {
 public:
  // The host is an IP literal; `clock` outlives the connection.
  ModbusTcpConnection(const ModbusTcp& where, const Clock& clock);
  ~ModbusTcpConnection() override;
  ModbusTcpConnection(const ModbusTcpConnection&) = delete;
  ModbusTcpConnection& operator=(const ModbusTcpConnection&) = delete;

  [[nodiscard]] bool connect(Instant deadline) override;
  [[nodiscard]] bool connected() const override { return socket_ >= 0; }
  void close() override;
  [[nodiscard]] std::string trouble() const override { return trouble_; }

  // Numbers the request, sends it and waits. After any flaw but an exception the connection is closed: not_connected (the
  // other side hung up), no_answer (silence), malformed (part of an answer, or bytes that nobody asked for). Not `asked`
  // where it was found unfit before anything was sent.
  [[nodiscard]] Answer ask(const ModbusRequest& request, Instant deadline) override;

 private:
  [[nodiscard]] bool give_up(std::string why);
  [[nodiscard]] Flaw unread() const;
  [[nodiscard]] Flaw send(std::span<const std::uint8_t> frame, Instant deadline) const;
  [[nodiscard]] Answer receive(std::span<const std::uint8_t> sent, Instant deadline);

  struct FreeContext {
    void operator()(_modbus* context) const;
  };
  std::unique_ptr<_modbus, FreeContext> context_;
  const Clock& clock_;
  const std::string address_;  // With the port.
  std::string trouble_;        // Empty once it is connected.
  int socket_{-1};
  std::uint16_t transaction_{0};
  RetryPause pause_;
  std::array<std::uint8_t, modbus_longest_frame + 1> buffer_{};  // One more, so that too much is seen.
};

}  // namespace standfast
