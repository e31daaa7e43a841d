// A bus of one instrument that speaks lines of text: asked, or speaking by itself.
//
// A line has no number, so a late answer looks like the answer to the next question, and there is no question of another
// shape to tell. Therefore, after any flaw of one that is asked, and after the device was opened, the line is kept quiet
// until the stated `slowest_answer` has passed since the last question had left; what came meanwhile is thrown away. What
// comes without being asked for is such a flaw. An instrument that answers later than is stated of it cannot be told.
//
// Of one that speaks by itself the newest line counts that has come since the last poll, and no line twice.
#pragma once

#include <atomic>

#include "drivers/descriptors.hpp"
#include "drivers/serial_line_port.hpp"

namespace standfast {

class SerialLineBus final : public Driver {
 public:
  // `clock` outlives the bus.
  SerialLineBus(const SerialLines& wire, const Clock& clock);
  // The whole answer is one line, whichever values of it are wanted. The raw part is the line as it came, with a flaw too; where
  // the device cannot be opened, the system's word for it.
  [[nodiscard]] Scan ask(BlockId id, const Block& block, Instant deadline) override;
  [[nodiscard]] Instant free_at() const override { return {quiet_until_ns_.load()}; }

 private:
  using Heard = LineListener::Heard;
  [[nodiscard]] Flaw connect();
  [[nodiscard]] Heard hear(Instant deadline);
  [[nodiscard]] Heard exchange(Instant deadline);
  [[nodiscard]] bool wait_for_quiet(Instant deadline);
  void doubt(Instant since);
  void lose();

  const SerialLines wire_;
  const Clock& clock_;
  SerialLinePort port_;
  RetryPause pause_;
  Flaw refusal_{Flaw::not_connected};
  bool doubtful_{false};  // What has come must be thrown away first.
  std::atomic<std::int64_t> quiet_until_ns_{0};
};

}  // namespace standfast
