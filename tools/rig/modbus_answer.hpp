// The serving side of Modbus without its wire: one request's bytes in, the answer's bytes out. Written anew from the
// specification (MODBUS Application Protocol V1.1b3) and not from the driver's codec, so that both cannot be wrong alike.
//
// Checks go in the specification's order: function (exception 1), quantity and value (3), addresses (2), doing it (4).
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "config/rig.hpp"

namespace standfast::rig {

using Bytes = std::vector<std::uint8_t>;

// What a unit must be able to do. Bits travel as words of 0 or 1.
class Unit {
 public:
  virtual ~Unit() = default;
  virtual bool has(Table table, int start, int count) const = 0;
  virtual std::vector<std::uint16_t> read(Table table, int start, int count) const = 0;
  virtual void write(Table table, int start, const std::vector<std::uint16_t>& words) = 0;
  // The exception that it answers to whatever it understands, where it is out of order.
  virtual std::optional<std::uint8_t> trouble() const = 0;
};

// `request` is the PDU: function code and data, 1 to 253 bytes.
Bytes answer(Unit& unit, std::span<const std::uint8_t> request);

}  // namespace standfast::rig
