// What each channel showed while it last had a number, so that a screen can show it, marked as old, beside "no data". For
// show alone: no decision looks here.
#pragma once

#include <memory>
#include <optional>
#include <vector>

#include "daemon/core/state.hpp"

namespace standfast {

class LastNumbers {
 public:
  // After each event. Another revision begins anew.
  void take(const State& state);

  // None: it never had a number under this revision.
  std::optional<Reading> of(std::size_t channel) const;

  // The values as they would be if every channel without a number still showed its last one. None: no channel is so.
  std::optional<Values> values_of(const State& state) const;

 private:
  std::shared_ptr<const Job> job_;
  std::vector<std::optional<Reading>> numbers_;
};

// The quantity from those values, as old as the oldest number that stands in for another. None: all of its channels answer.
std::optional<Reading> last_of(const QuantityRef& of, const Values& before, const LastNumbers& last, const State& state);

}  // namespace standfast
