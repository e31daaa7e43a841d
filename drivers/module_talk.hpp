// The requests of one exchange with one unit, up to a common deadline, and what went wrong first.
#pragma once

#include <span>

#include "config/runs.hpp"
#include "drivers/modbus_connection.hpp"

namespace standfast {

class ModuleTalk {
 public:
  // Keeps others off the wire while it lives.
  ModuleTalk(ModbusConnection& connection, int unit_id, Instant deadline);
  ~ModuleTalk();
  ModuleTalk(const ModuleTalk&) = delete;
  ModuleTalk& operator=(const ModuleTalk&) = delete;

  // Function and data of a right answer, good until the next request; empty where there was none. A flaw is noted; once the
  // connection is gone nothing more is asked.
  std::span<const std::uint8_t> read(Table table, Run run);
  // The same, but a refusal by the module is an answer of its kind and not noted.
  std::span<const std::uint8_t> read_if_there(Table table, Run run);
  // True if the module confirmed. A single coil goes as a single write.
  [[nodiscard]] bool write_coils(int start, std::span<const std::uint8_t> bits);

  Flaw first_flaw() const { return flaw_; }

 private:
  ModbusConnection::Answer ask(const ModbusRequest& request);
  void note(Flaw flaw) { flaw_ = flaw_ == Flaw::none ? flaw : flaw_; }

  ModbusConnection& connection_;
  int unit_id_;
  Instant deadline_;
  bool may_talk_;
  Flaw flaw_{Flaw::none};
};

}  // namespace standfast
