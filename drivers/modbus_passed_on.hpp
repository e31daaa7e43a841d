// A connection in front of another: everything is the other's until a class that derives from this says otherwise.
#pragma once

#include <memory>

#include "drivers/modbus_connection.hpp"

namespace standfast {

class ModbusPassedOn : public ModbusConnection {
 public:
  explicit ModbusPassedOn(std::unique_ptr<ModbusConnection> inner) : inner_{std::move(inner)} {}

  [[nodiscard]] bool connect(Instant deadline) override { return inner_->connect(deadline); }
  [[nodiscard]] bool connected() const override { return inner_->connected(); }
  void close() override { inner_->close(); }
  [[nodiscard]] Flaw refusal() const override { return inner_->refusal(); }
  [[nodiscard]] std::string trouble() const override { return inner_->trouble(); }
  [[nodiscard]] Answer ask(const ModbusRequest& request, Instant deadline) override { return inner_->ask(request, deadline); }
  [[nodiscard]] bool begin_talk(Instant deadline) override { return inner_->begin_talk(deadline); }
  void end_talk() override { inner_->end_talk(); }
  [[nodiscard]] Instant free_at() const override { return inner_->free_at(); }

 private:
  const std::unique_ptr<ModbusConnection> inner_;
};

}  // namespace standfast
