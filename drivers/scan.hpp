// One answer from a wire, or the flaw that stands in its place. Silence is a flawed scan, never an absence.
#pragma once

#include <cstdint>
#include <string>
#include <variant>
#include <vector>

#include "config/ids.hpp"
#include "config/instant.hpp"

namespace standfast {

enum class Flaw : std::uint8_t {
  none,
  not_connected,    // no connection to the instrument
  no_answer,        // nothing within the time-out
  late,             // an answer that belongs to an earlier request
  foreign,          // wrong unit, protocol, function or transaction
  malformed,        // wrong length, garbage behind
  exception_refused,   // Modbus exceptions 1, 2, 3: wrong function, address or quantity: a fault of the rig file
  exception_failed,    // exception 4 and unknown codes: the instrument says it failed
  exception_busy,      // exceptions 5, 6
  exception_gateway,   // exceptions 10, 11
  garbled,             // a wrong checksum, or bytes that are no frame and no line: noise, or another baud rate or parity
  wrong_instrument,    // its identity is not what rig.yaml states
  line_in_use,         // another program holds the serial line
  line_changed,        // another program changed the settings of the serial line; they have been set back
  energised_by_another,  // outputs only: a coil stood on that was written off. It has been written off again.
};
inline constexpr int flaw_count = 15;

using Words = std::vector<std::uint16_t>;
using Bits = std::vector<std::uint8_t>;  // Each 0 or 1.

struct Scan {
  BlockId block;
  Instant taken_at;  // When the whole answer was in, or when it was given up.
  std::variant<Words, Bits, std::string> raw;  // With a flaw: empty, the damaged line, or what the wire has to say of it.
  Flaw flaw{Flaw::none};
};

}  // namespace standfast
