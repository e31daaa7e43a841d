// When the heartbeat coil may change. It tells an external watchdog that somebody still decides and that what he decides
// reaches the module, so it is driven by both and by no timer of its own.
#pragma once

#include <cstdint>
#include <optional>

#include "config/instant.hpp"

namespace standfast {

class Heartbeat {
 public:
  explicit Heartbeat(Duration period) : period_{period} {}

  struct Life {
    std::int64_t applies{0};  // How many events the engine has taken.
    bool withheld{false};     // A proof runs.
    Instant now;
  };
  // The level of the coil in the image about to be written: toggled once a period, if the engine took an event since
  // the last toggle and the outputs were written within the last period.
  bool level(const Life& life) {
    const bool due = !toggled_at_ || life.now - *toggled_at_ >= period_;
    const bool alive = life.applies > applies_ && written_at_ && life.now - *written_at_ <= period_;
    if (due && alive && !life.withheld) {
      on_ = !on_;
      toggled_at_ = life.now;
      applies_ = life.applies;
    }
    return on_;
  }
  void written(Instant at) { written_at_ = at; }

 private:
  Duration period_;
  bool on_{false};
  std::int64_t applies_{0};
  std::optional<Instant> toggled_at_, written_at_;
};

}  // namespace standfast
