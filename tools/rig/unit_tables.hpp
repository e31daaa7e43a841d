// The tables of every Modbus unit that the rig file names: what the instruments say, what the contacts say, what the
// output module holds.
#pragma once

#include <array>
#include <map>
#include <memory>
#include <optional>

#include "tools/rig/instruments.hpp"
#include "tools/rig/modbus_answer.hpp"
#include "tools/rig/registers.hpp"
#include "tools/rig/relays.hpp"

namespace standfast::rig {

struct UnitAddress {
  BusId bus;
  int unit_id{1};
  friend auto operator<=>(const UnitAddress&, const UnitAddress&) = default;
};

// Each table exists from address 0 to the last that the rig file states, as in a small gateway.
class UnitTables final : public Unit {
 public:
  bool has(Table table, int start, int count) const override;
  std::vector<std::uint16_t> read(Table table, int start, int count) const override;
  void write(Table table, int start, const std::vector<std::uint16_t>& words) override;
  std::optional<std::uint8_t> trouble() const override { return trouble_; }

  Registers& own(Table table) { return tables_[static_cast<std::size_t>(table)]; }
  void attach(Relays& relays) { relays_ = &relays; }
  bool silent{false};                    // It does not answer at all.
  void be_another(bool another) { another_ = another; }  // Its identity reads otherwise.
  bool is_another() const { return another_; }
  void set_trouble(std::optional<std::uint8_t> exception) { trouble_ = exception; }
  void show_readbacks();
  void freeze(bool frozen);  // What is read stays as it is now; what is written still counts.

 private:
  const Registers& living(Table table) const;
  const Registers& shown(Table table, int start, int count) const;

  std::array<Registers, 4> tables_;
  Relays* relays_{nullptr};
  bool another_{false};
  std::optional<std::uint8_t> trouble_;
  std::optional<std::array<Registers, 4>> frozen_;
};

using Units = std::map<UnitAddress, UnitTables>;

// Every unit with tables as large as the rig file needs, and its identity where one is stated.
Units units_of(const Rig& rig);

// Puts the words of every channel where the rig file says, and each unit's identity.
void show_instruments(Units& units, const Rig& rig, const Instruments& instruments);

}  // namespace standfast::rig
