// A connection that trusts no unit before it has proved to be the instrument that rig.yaml names: two adapters swapped, or a
// gauge of another make at the same address, are told and give no value.
#pragma once

#include <memory>
#include <set>
#include <vector>

#include "drivers/modbus_passed_on.hpp"

namespace standfast {

class ModbusIdentity final : public ModbusPassedOn {
 public:
  ModbusIdentity(std::unique_ptr<ModbusConnection> inner, std::vector<UnitStatement> units);

  // Of each unit with a stated identity that register is read before its first request after each connection, and again
  // behind any flaw of that unit. Another number there, or a refusal: `wrong_instrument`, and nothing else is asked of it.
  [[nodiscard]] Answer ask(const ModbusRequest& request, Instant deadline) override;

  [[nodiscard]] bool connect(Instant deadline) override;
  [[nodiscard]] std::string trouble() const override { return found_.empty() ? ModbusPassedOn::trouble() : found_; }

 private:
  [[nodiscard]] Answer identify(const UnitIdentity& identity, int unit_id, Instant deadline);

  const std::vector<UnitStatement> units_;
  std::set<int> known_;  // On this connection.
  std::string found_;    // In place of the identity that was asked for last; empty where it was right.
};

}  // namespace standfast
