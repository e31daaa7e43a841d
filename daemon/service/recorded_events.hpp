// The record read as the engine's input: its events in order, each job parsed again from the bytes that were in force.
// Restart and replay both go this way.
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "config/result.hpp"
#include "daemon/core/engine.hpp"
#include "daemon/record/record_reader.hpp"

namespace standfast {

class RecordedEvents {
 public:
  explicit RecordedEvents(record::RecordReader& reader, std::int64_t from = 0) : reader_{reader}, next_{from} {}

  struct Item {
    std::int64_t seq{0}, span{0}, revision{0};
    Event event;
  };
  // None at the end of the record. The error names the row that cannot be used.
  Result<std::optional<Item>, std::string> next();

  // The parsed files of a revision. The error is the first finding.
  Result<std::shared_ptr<const Job>, std::string> job(std::int64_t revision);

 private:
  record::RecordReader& reader_;
  std::int64_t next_;
  std::vector<record::RecordedEvent> page_;
  std::size_t place_{0};
  std::map<std::int64_t, std::shared_ptr<const Job>> jobs_;
};

// The rows of `gap` behind which no state follows from the events before: rows were lost, or
// the start right before it had no state to go on from.
Result<std::vector<std::int64_t>, std::string> breaks(record::RecordReader& reader);

// The engine of a snapshot with the job that was in force then. The error says what does not fit.
struct Restored { Engine engine; std::shared_ptr<const Job> job; };
Result<Restored, std::string> restored_from(record::RecordReader& reader, const record::SnapshotFound& snapshot);

// The engine as it stood after the newest row: from the newest snapshot that fits and the events behind it, else from all
// events, and over no break. Where neither can be used, a new engine: no job, but everything open that the record calls latched, and where
// not even that can be read, a HOLD that says so.
struct Rebuilt {
  Engine engine;
  std::shared_ptr<const Job> job;  // In force at the end; null: none.
  std::string trouble{};           // Why the record does not give the whole state; empty: it does.
  std::int64_t rows_left{0};       // Then: the rows from which it does not follow,
  std::vector<EffectRow> not_in_record{};  // and what was brought back and stands in none of them.
};
Rebuilt rebuild(record::RecordReader& reader);

// The same where the record is not trusted, or cannot be read at all: nothing of it comes into force, what it calls
// latched is open.
Rebuilt without_state(record::RecordReader* reader, const std::string& trouble);

}  // namespace standfast
