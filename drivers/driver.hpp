// All the daemon knows about a bus. One object per bus, used only on that bus's thread.
#pragma once

#include "config/poll_plan.hpp"
#include "drivers/scan.hpp"

namespace standfast {

class Driver {
 public:
  virtual ~Driver() = default;
  // Asks for one block and waits for its answer until `deadline`; never later. Connects where needed, within the same
  // deadline. Silence comes back as a scan with its flaw. Smooths nothing, remembers no value and asks for none twice: only
  // a wire's own trust is kept here. Nothing late ever answers the next request.
  [[nodiscard]] virtual Scan ask(BlockId id, const Block& block, Instant deadline) = 0;
  // Until then the wire is best left alone: a serial line that is kept quiet because somebody may still be speaking. What
  // is asked earlier waits for it, up to its deadline. Any thread.
  [[nodiscard]] virtual Instant free_at() const { return {}; }
};

// Where an instant comes from. CLOCK_BOOTTIME in the daemon, a hand-moved one in tests.
class Clock {
 public:
  virtual ~Clock() = default;
  [[nodiscard]] virtual Instant now() const = 0;
};

}  // namespace standfast
