// One end of a Modbus wire, whatever its kind: sends a request and waits for exactly its answer.
//
// Used by one thread. At most one request is outstanding, ever, and none is asked twice. After any flaw but an exception
// nothing that comes on this wire is trusted until its kind of wire has made sure of it: TCP by a new connection, a serial
// line by silence and a question of another shape, which a unit behind a gateway is asked, too.
#pragma once

#include <span>
#include <string>

#include "drivers/driver.hpp"
#include "drivers/modbus_codec.hpp"

namespace standfast {

class ModbusConnection {
 public:
  virtual ~ModbusConnection() = default;

  // True if there is a connection when it returns. After a failed attempt the next one is made only after a pause, which
  // grows from 0.1 s to 1 s; until then this is false at once.
  [[nodiscard]] virtual bool connect(Instant deadline) = 0;
  [[nodiscard]] virtual bool connected() const = 0;
  virtual void close() = 0;
  // Why `connect` was false.
  [[nodiscard]] virtual Flaw refusal() const { return Flaw::not_connected; }
  // To a person: what the system said when the wire could not be opened, or what stood in place of the stated identity.
  // Empty where nothing is to be said.
  [[nodiscard]] virtual std::string trouble() const { return {}; }

  struct Answer {
    Flaw flaw{Flaw::none};
    std::span<const std::uint8_t> pdu;  // Function and data; empty with a flaw. Good until the next call.
    bool asked{true};                   // False where nothing was sent.
  };
  // An answer that is not whole by `deadline` is none. Needs a connection.
  [[nodiscard]] virtual Answer ask(const ModbusRequest& request, Instant deadline) = 0;

  // Several requests in a row that nobody else on the same wire comes between. True if they may begin.
  [[nodiscard]] virtual bool begin_talk(Instant) { return true; }
  virtual void end_talk() {}

  // Nothing should be asked before: see Driver::free_at.
  [[nodiscard]] virtual Instant free_at() const { return {}; }
};

}  // namespace standfast
