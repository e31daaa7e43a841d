// Bytes that wait until the line has room for them: a serial line carries one character after the other, each in its time.
// Pure; instants come from the caller.
#pragma once

#include <algorithm>
#include <deque>
#include <optional>

#include "config/instant.hpp"
#include "tools/rig/modbus_answer.hpp"

namespace standfast::rig {

class Outbox {
 public:
  // The first byte is through `per_byte` after `from`, or after what stands before it, whichever is later.
  void put(Instant from, const Bytes& bytes, Duration per_byte) {
    Instant at = std::max(from, free_at_);
    for (const std::uint8_t byte : bytes) {
      at = at + per_byte;
      waiting_.push_back({at, byte});
    }
    free_at_ = at;
  }
  Bytes take(Instant now) {
    Bytes due;
    for (; !waiting_.empty() && waiting_.front().at <= now; waiting_.pop_front()) due.push_back(waiting_.front().byte);
    return due;
  }
  std::optional<Instant> next() const {
    return waiting_.empty() ? std::nullopt : std::optional{waiting_.front().at};
  }
  void clear() { waiting_.clear(); }

 private:
  struct Due { Instant at; std::uint8_t byte; };
  std::deque<Due> waiting_;
  Instant free_at_{};
};

}  // namespace standfast::rig
