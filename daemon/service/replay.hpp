// Deciding everything again from the record: the recorded events through a new engine, each decision held against the row
// it left. The same bytes, or the first place where they differ.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "config/result.hpp"
#include "daemon/record/record_reader.hpp"

namespace standfast {

struct ReplayDifference {
  std::int64_t seq{0};             // Of the recorded row; of the event where there is no such row.
  std::string recorded, replayed;  // As record::effect_text words them; empty: there is none.
};
struct Replayed {
  std::int64_t events{0}, decisions{0};
  std::int64_t from_seq{0}, to_seq{0};
  std::int64_t resumed{0};  // How often rows were lost in between, and the next snapshot had to stand in for them.
  std::optional<ReplayDifference> first_difference;
};

// From the first event, or from the newest snapshot that an event follows. The error says why the record cannot be replayed.
enum class ReplayFrom : std::uint8_t { start, newest_snapshot };
Result<Replayed, std::string> replay(record::RecordReader& reader, ReplayFrom from);

}  // namespace standfast
