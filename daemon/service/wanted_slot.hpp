// Where the engine leaves what it wants of the outputs, and the output thread picks it up. One place, the latest wins,
// nothing is queued: a stuck module can never make a pile of old permits to be written later.
#pragma once

#include <chrono>
#include <condition_variable>
#include <cstdint>
#include <mutex>

#include "daemon/core/effect.hpp"

namespace standfast {

struct Wanted {
  OutputImage image;
  Sound sound{Sound::silent};
  bool withhold_heartbeat{false};
  Instant known_at;         // The engine's newest instant: what it knew when it wanted this.
  std::int64_t applies{0};  // How many events it had taken; the heartbeat rests on it.
  bool last{false};         // The service ends: to be written once more and never again.
};

inline constexpr Duration wanted_lives = seconds(1);

// A wanted state that old is worth nothing, for nobody is deciding any more.
constexpr bool is_worthless(const Wanted& wanted, Instant now) { return now - wanted.known_at > wanted_lives; }

class WantedSlot {
 public:
  void put(const Wanted& wanted) {
    bool changes = false;
    {
      const std::lock_guard lock{mutex_};
      changes = wanted.image != wanted_.image || wanted.last != wanted_.last;
      urgent_ = urgent_ || changes;
      wanted_ = wanted;
      ++sequence_;
    }
    if (changes) changed_.notify_one();  // The same again, thousands of times a second, wakes nobody.
  }
  Wanted latest() const {
    const std::lock_guard lock{mutex_};
    return wanted_;
  }
  std::int64_t sequence() const {
    const std::lock_guard lock{mutex_};
    return sequence_;
  }
  // Returns when a different image has been put since the last return, or after `most`.
  Wanted wait(Duration most) {
    std::unique_lock lock{mutex_};
    changed_.wait_for(lock, std::chrono::nanoseconds{most.ns}, [this] { return urgent_; });
    urgent_ = false;
    return wanted_;
  }

 private:
  mutable std::mutex mutex_;
  std::condition_variable changed_;
  Wanted wanted_;
  std::int64_t sequence_{0};
  bool urgent_{false};
};

}  // namespace standfast
