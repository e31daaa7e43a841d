#include "tools/rig/unit_tables.hpp"

#include <utility>

#include "config/ensure.hpp"
#include "config/wire_kind.hpp"

namespace standfast::rig {
namespace {

bool has_registers(const Rig& rig, const Channel& channel) {
  if (!channel.bus) return false;
  switch (kind_of(rig.buses[channel.bus->at()])) {
    case WireKind::modbus_tcp: case WireKind::modbus_rtu: return true;
    case WireKind::serial_lines: return false;
  }
  ENSURE(false);
}

}  // namespace

// A channel's register, or an identity, in the output module's unit stands beside the module's own.
const Registers& UnitTables::shown(Table table, int start, int count) const {
  const auto place = static_cast<std::size_t>(table);
  if (frozen_) return (*frozen_)[place];
  return tables_[place].has(start, count) ? tables_[place] : living(table);
}

const Registers& UnitTables::living(Table table) const {
  if (relays_ != nullptr && table == Table::coil) return relays_->coils();
  if (relays_ != nullptr && table == Table::holding_register) return relays_->holding();
  return tables_[static_cast<std::size_t>(table)];
}

bool UnitTables::has(Table table, int start, int count) const { return shown(table, start, count).has(start, count); }

std::vector<std::uint16_t> UnitTables::read(Table table, int start, int count) const {
  return shown(table, start, count).read(start, count);
}

void UnitTables::freeze(bool frozen) {
  frozen_.reset();
  if (!frozen) return;
  std::array<Registers, 4> copy;
  for (std::size_t n = 0; n < copy.size(); ++n) {
    copy[n] = tables_[n];
    copy[n].add(living(static_cast<Table>(n)));
  }
  frozen_ = std::move(copy);
}

void UnitTables::write(Table table, int start, const std::vector<std::uint16_t>& words) {
  if (relays_ == nullptr) {  // Holding registers and coils of an instrument: written, and of no effect.
    for (std::size_t n = 0; n < words.size(); ++n) own(table).set(start + static_cast<int>(n), words[n]);
    return;
  }
  if (table == Table::coil) relays_->write_coils(start, words);
  else relays_->write_holding(start, words);
  show_readbacks();
}

void UnitTables::show_readbacks() {
  if (relays_ == nullptr) return;
  for (const auto& [address, on] : relays_->readbacks()) own(Table::discrete_input).set(address, on ? 1 : 0);
}

Units units_of(const Rig& rig) {
  Units units;
  for (const Channel& channel : rig.channels) {
    if (!has_registers(rig, channel)) continue;
    Registers& table = units[{*channel.bus, channel.address.unit_id}].own(channel.address.table);
    table.cover(0, channel.address.start + words_of(channel.type));
  }
  for (const Input& input : rig.inputs) {
    units[{input.bus, input.address.unit_id}].own(input.address.table).cover(0, input.address.start + 1);
  }
  for (std::size_t b = 0; b < rig.buses.size(); ++b)
    for (const UnitStatement& unit : rig.buses[b].units)
      if (unit.identity) units[{BusId{b}, unit.unit_id}].own(unit.identity->table).cover(unit.identity->address, 1);
  if (rig.output_module) {
    UnitTables& unit = units[{rig.output_module->bus, rig.output_module->unit_id}];
    for (const Output& output : rig.output_module->outputs) {
      if (output.readback) unit.own(Table::discrete_input).cover(0, *output.readback + 1);
    }
  }
  return units;
}

void show_instruments(Units& units, const Rig& rig, const Instruments& instruments) {
  for (std::size_t c = 0; c < rig.channels.size(); ++c) {
    const Channel& channel = rig.channels[c];
    if (!has_registers(rig, channel)) continue;
    Registers& table = units[{*channel.bus, channel.address.unit_id}].own(channel.address.table);
    const auto& words = instruments.words(ChannelId{c});
    for (std::size_t n = 0; n < words.size(); ++n) table.set(channel.address.start + static_cast<int>(n), words[n]);
  }
  for (std::size_t b = 0; b < rig.buses.size(); ++b)
    for (const UnitStatement& each : rig.buses[b].units)
      if (each.identity) {
        UnitTables& unit = units[{BusId{b}, each.unit_id}];
        unit.own(each.identity->table).set(each.identity->address, static_cast<std::uint16_t>(each.identity->reads + unit.is_another()));
      }
}

}  // namespace standfast::rig
