// The device of a Modbus RTU line: frames out, judged frames in, silence between them. It trusts nobody and remembers no
// answer. libmodbus opens the device; what is sent and received on it is ours, because libmodbus takes an answer that comes
// late for the answer to the next request, and does not bound the time of one that comes in drops.
//
// Used by one thread at a time.
#pragma once

#include <array>
#include <memory>

#include "drivers/descriptors.hpp"
#include "drivers/modbus_rtu_frame.hpp"
#include "drivers/serial_claim.hpp"

struct _modbus;  // libmodbus's context.

namespace standfast {

class ModbusRtuPort {
 public:
  // `clock` outlives the port.
  ModbusRtuPort(const ModbusRtu& where, const Clock& clock);
  ~ModbusRtuPort();
  ModbusRtuPort(const ModbusRtuPort&) = delete;
  ModbusRtuPort& operator=(const ModbusRtuPort&) = delete;

  // By the stated path, which may be a link to whatever the device is called today. not_connected, line_in_use.
  [[nodiscard]] Flaw open();
  // After a refusal: the device and the system's word for it.
  [[nodiscard]] const std::string& trouble() const { return trouble_; }
  [[nodiscard]] bool is_open() const { return line_ >= 0; }
  void close();

  // Before a request: unread bytes that nobody asked for are thrown away and told as `malformed`; changed settings are set
  // back and told as `line_changed`.
  [[nodiscard]] Flaw look();
  void flush();

  struct Heard {
    Flaw flaw{Flaw::none};
    std::span<const std::uint8_t> pdu;  // Good until the next call; empty with a flaw.
  };
  // An answer is whole when the silence behind it is over: a byte within it makes it malformed. not_connected: the device is
  // gone, and closed.
  [[nodiscard]] Heard exchange(const ModbusRequest& request, Instant deadline);
  // When the last request had left the line.
  Instant sent_at() const { return sent_at_; }

 private:
  [[nodiscard]] bool wait_for_silence() const;
  [[nodiscard]] Flaw send(std::span<const std::uint8_t> frame, Instant deadline);
  [[nodiscard]] Heard receive(std::span<const std::uint8_t> sent, Instant deadline);
  [[nodiscard]] bool silent_behind();

  struct FreeContext {
    void operator()(_modbus* context) const;
  };
  const ModbusRtu where_;
  const Clock& clock_;
  std::unique_ptr<_modbus, FreeContext> context_;
  SerialClaim claim_;
  int line_{-1};
  std::string trouble_;
  Instant sent_at_{}, silent_at_{};  // When the silence behind the last byte is over.
  std::array<std::uint8_t, modbus_longest_frame + 1> buffer_{};  // One more, so that too much is seen.
};

}  // namespace standfast
