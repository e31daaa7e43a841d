// What can be wrong with one wire, and what it makes of an answer. A wire that nothing is wrong with changes nothing.
#pragma once

#include <cstdint>
#include <optional>
#include <utility>

#include "config/instant.hpp"
#include "tools/rig/modbus_answer.hpp"
#include "tools/rig/random.hpp"

namespace standfast::rig {

// What a line of text says instead of what it should.
enum class LineFault : std::uint8_t { none, comma, overload, endless, zero_byte, merged, extra_field };

struct WireFault {
  double lost{0};      // Share of the answers that never come.
  double spoilt{0};    // Share of the answers with one bit changed.
  bool late_by_one{false};   // Each request is answered with the answer to the one before.
  bool foreign_unit{false};  // The answer names another unit.
  bool wrong_length{false};  // The last byte of the PDU is missing, and the frame agrees with that.
  bool garbage_tail{false};  // Three bytes too many behind it.
  bool echoing{false};       // The request comes back before the answer.
  bool black_hole{false};    // Requests go in and nothing comes of them.
  bool hangs_up{false};      // TCP: the connection is closed instead of an answer.
  bool pulled{false};        // Serial: the adapter is out, its device gone.
  Duration slow{};           // Before each answer.
  Duration drip{};           // Before each byte.
  LineFault line{LineFault::none};
};

// What an answer becomes before it is put in its frame.
void bend(const WireFault& fault, std::uint8_t& unit_id, Bytes& pdu);

class TroubledWire {
 public:
  // What comes out of the wire, for a frame that goes in.
  std::optional<Bytes> through(const WireFault& fault, Random& chance, Bytes frame);

 private:
  std::optional<Bytes> held_;  // The answer that is late by one.
};

}  // namespace standfast::rig
