// What one speaker sees of a Modbus RTU line: a connection like any other. Several may share the line, each in its thread.
#pragma once

#include <array>
#include <memory>

#include "drivers/modbus_rtu_line.hpp"

namespace standfast {

class ModbusRtuConnection final : public ModbusConnection {
 public:
  using Rank = ModbusRtuLine::Rank;
  ModbusRtuConnection(std::shared_ptr<ModbusRtuLine> line, Rank rank) : line_{std::move(line)}, rank_{rank} {}
  ~ModbusRtuConnection() override;
  ModbusRtuConnection(const ModbusRtuConnection&) = delete;
  ModbusRtuConnection& operator=(const ModbusRtuConnection&) = delete;

  [[nodiscard]] bool connect(Instant deadline) override;
  [[nodiscard]] bool connected() const override { return session_ != 0 && session_ == line_->session(); }
  // The line stays open for the others.
  void close() override { session_ = 0; }
  [[nodiscard]] Flaw refusal() const override { return refusal_; }
  [[nodiscard]] std::string trouble() const override { return trouble_; }
  [[nodiscard]] Answer ask(const ModbusRequest& request, Instant deadline) override;
  [[nodiscard]] bool begin_talk(Instant deadline) override;
  void end_talk() override;
  [[nodiscard]] Instant free_at() const override { return line_->quiet_until(); }

 private:
  const std::shared_ptr<ModbusRtuLine> line_;
  const Rank rank_;
  bool talking_{false};
  std::uint64_t session_{0};
  Flaw refusal_{Flaw::not_connected};
  std::string trouble_;
  std::array<std::uint8_t, modbus_longest_pdu> answer_{};  // The line's own is the next speaker's.
};

}  // namespace standfast
