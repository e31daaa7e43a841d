// The engine's state as JSON, for whoever shows it. Pure. Numbers are SI with the unit in the key; a `text` beside a
// number is the same for a person, in the units of the rig. The form may only grow.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "daemon/core/state.hpp"
#include "daemon/panel/last_numbers.hpp"

namespace standfast {

struct PictureFacts {
  Instant now;                        // On the engine's clock: State::shift included.
  WallTime wall;
  std::string job_folder;
  std::vector<std::string> problems;  // Wires that could not be made.
  std::int64_t last_seq{0}, durable_seq{0};
  std::string record_head;            // Of the newest seal on disk, hex.
  std::string record_key;             // Public key of its checkpoints, hex; empty: none are written.
  std::string record_unsigned;        // Why none are written.
  std::string record_trouble;         // Empty while the record is healthy.
};

// `last`: what the channels showed while they had numbers.
std::string picture_json(const State& state, const PictureFacts& facts, const LastNumbers& last);

// The one word for the worst level: "WITHIN LIMITS", "REVIEW", "HOLD", "STOP".
std::string signal_word(Level level);

// Who may reset this alarm, in words: "supervisor + second person".
std::string reset_words(const State& state, const Alarm& alarm);

}  // namespace standfast
