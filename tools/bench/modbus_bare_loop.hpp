// The least that can withdraw a permit: two libmodbus clients in one loop, one reads, one writes. No quality, no alarm, no
// record.
#pragma once

#include <cstdint>

namespace standfast::bench {

struct BareLoop {
  std::uint16_t port{0};
  int poll_ms{0};
  int registers{0};             // Input registers from 0, read together.
  std::uint16_t stop_above{0};  // Of any of them.
  int readings_to_trip{0};      // So many in a row.
};

// For ever. Coil 0 is on while nothing has tripped.
[[noreturn]] void run(const BareLoop& loop);

}  // namespace standfast::bench
