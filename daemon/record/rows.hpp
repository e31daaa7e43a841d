// What the engine took and what it decided, as rows of the record, and back. Pure: no SQLite, no clock.
//
// Every Event comes back bit-identical (a Tick included, where the service chooses to record one). Its JobInForce comes
// back without the parsed job: the caller parses the bytes of that revision again. An empty `raw` comes back as the kind
// of its block. Amounts are kept as the SI number and the dimension in words; minus nought is kept as nought.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "config/result.hpp"
#include "daemon/core/effect.hpp"
#include "daemon/core/event.hpp"
#include "daemon/record/tables.hpp"

namespace standfast::record {

using Value = std::variant<std::monostate, std::int64_t, double, std::string>;  // NULL, INTEGER, REAL, TEXT.

struct Row {                    // Without its seq, which the writer gives.
  RecordTable table{};
  std::vector<Value> values;    // In the order of the table's columns behind seq.
  friend bool operator==(const Row&, const Row&) = default;
};

// Where in the record's life a row stands. `span` counts the daemon's starts on this record from 1; `revision` counts
// the pairs of rig and plan that were in force, from 1 (0: none yet).
struct Where {
  std::int64_t span{0};
  std::int64_t revision{0};
  std::string host;             // Stands in the span row.
};

struct Moment { std::int64_t span{0}; Instant at; WallTime wall; };

// --- into the record ---------------------------------------------------------------------------------------------------
Row row_of(const Event& event, const Where& where);

// The rows of one `apply`, in order, each at the instant at which it was decided; `moment` is that of the event, and a row
// decided earlier has a wall time as much earlier. A SnapshotDue becomes one row with `snapshot` behind all the others;
// `snapshot` is looked at only if `wants_snapshot`. Without instants: all at `moment`.
bool wants_snapshot(const std::vector<EffectRow>& effects);
std::vector<Row> rows_of(const Effects& effects, const Moment& moment, const std::string& snapshot);
std::vector<Row> rows_of(const std::vector<EffectRow>& effects, const Moment& moment, const std::string& snapshot);

// The accepted bytes of both files with the blocks they give. Appended before the JobInForce event of that revision.
struct RevisionBytes { std::string rig_yaml, stages_yaml; };
std::vector<Row> rows_of(const RevisionBytes& bytes, const Job& job, std::int64_t number, const Moment& moment);

// Nothing was recorded from `from` until `until`, or `lost` rows were refused for want of room.
struct Gap { WallTime from, until; std::int64_t lost{0}; std::string why; };
Row row_of(const Gap& gap, const Moment& moment);

// --- and back ------------------------------------------------------------------------------------------------------------
// `bits` says that the block of a scan holds coils or discrete inputs. The error names the column that does not fit.
Result<Event, std::string> event_of(const Row& row, bool bits);

// One line that two equal effects share and two different ones do not; without span and wall time, for comparing a
// replay with the record: `alarm at_ns=12 number=1 subject="HEAD" ...`. Doubles as the shortest text that reads back.
std::string effect_text(const Row& row);

// `block` of a scan row: revision and BlockId in one readable number, revision 2 and block 3 is 200003.
constexpr std::int64_t block_key(std::int64_t revision, BlockId block) { return revision * 100'000 + block.number; }

}  // namespace standfast::record
