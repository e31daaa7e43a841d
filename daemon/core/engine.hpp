// Decides. `apply` is a pure step: the same events in the same order give the same effects, to the bit, on any machine.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "config/result.hpp"
#include "daemon/core/effect.hpp"
#include "daemon/core/event.hpp"
#include "daemon/core/latched.hpp"
#include "daemon/core/place_set.hpp"

namespace standfast {

struct State;

class Engine {
 public:
  Engine();
  ~Engine();
  Engine(Engine&&) noexcept;
  Engine& operator=(Engine&&) noexcept;

  // Events must come in order of their instants; one that lies before the newest is taken at the newest.
  Effects apply(const Event& event);

  const State& state() const { return *state_; }

  // Before a `Started` is applied: alarms that the record calls latched and this state does not know are open again. One row
  // for each of them, for a record that does not have it.
  std::vector<EffectRow> bring_back(const LatchedAlarms& latched);
  // For a state that follows from no snapshot: no picture of before has the number of one to come. `rows`: of the record.
  void leave_pictures_behind(std::int64_t rows);

  // Versioned text of the whole state; the same state gives the same bytes.
  std::string snapshot() const;
  // The error says what does not fit. `job` must be the one in force when the snapshot was made (none: nullptr).
  static Result<Engine, std::string> from_snapshot(const std::string& text, std::shared_ptr<const Job> job);

 private:
  void look_ahead();

  std::unique_ptr<State> state_;
  PlaceSet fresh_;              // Of the event in hand: see `Fresh`. Kept, so that no event asks for its memory anew.
  std::optional<Instant> due_;  // The next instant at which time alone could change anything, of the state as it stands.
};

}  // namespace standfast
