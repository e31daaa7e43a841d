// The device of a line of text: opened and set as the rig states, listened to, spoken to. Asio opens it; the settings, and
// what is read, are ours, because Asio lets characters of wrong parity fall under the table.
//
// Used by one thread; the listener has one of its own.
#pragma once

#include <memory>
#include <string>
#include <string_view>

#include "drivers/line_listener.hpp"
#include "drivers/serial_claim.hpp"

namespace standfast {

class SerialLinePort {
 public:
  // `clock` outlives the port.
  SerialLinePort(const SerialSettings& serial, const Clock& clock);
  ~SerialLinePort();
  SerialLinePort(const SerialLinePort&) = delete;
  SerialLinePort& operator=(const SerialLinePort&) = delete;

  // By the stated path, which may be a link to whatever the device is called today. not_connected, line_in_use.
  [[nodiscard]] Flaw open();
  // After a refusal: the device and the system's word for it.
  [[nodiscard]] const std::string& trouble() const { return trouble_; }
  [[nodiscard]] bool is_open() const { return listener_ != nullptr; }
  void close();

  // Settings that another program changed are set back and told as `line_changed`.
  [[nodiscard]] Flaw look();
  // not_connected, no_answer (the line takes nothing).
  [[nodiscard]] Flaw send(std::string_view text, Instant deadline);
  // When the last question had left the line.
  Instant sent_at() const { return sent_at_; }
  // Needs an open port.
  LineListener& listener() { return *listener_; }

 private:
  struct Device;
  [[nodiscard]] bool set_up();

  const SerialSettings serial_;
  const Clock& clock_;
  SerialClaim claim_;
  std::unique_ptr<Device> device_;
  std::unique_ptr<LineListener> listener_;
  std::string trouble_;
  Instant sent_at_{};
};

}  // namespace standfast
