// Everything that can come in. Whatever can change a decision is one of these, is recorded, and is replayed.
#pragma once

#include <memory>
#include <string>
#include <variant>

#include "config/poll_plan.hpp"
#include "config/rig.hpp"
#include "config/stages.hpp"
#include "daemon/core/action.hpp"
#include "drivers/output_report.hpp"
#include "drivers/scan.hpp"

namespace standfast {

// The engine's rules. Raised when the same events may give other decisions; stands in every snapshot.
inline constexpr int rules_version = 9;

// The accepted bytes of both files, parsed. Immutable once in force.
struct Job {
  Rig rig;
  Plan plan;
  PollPlan polls;
  std::string rig_sha256, plan_sha256;  // Lower-case hex of the accepted bytes.
};

struct Started { std::string boot_id, software; bool first{false}; };  // first: an empty record.
struct Ended {};                          // In order: the next start follows no crash.
struct JobInForce { std::shared_ptr<const Job> job; };
struct NoJob { std::string why; };        // No accepted plan, or one that no longer loads.
enum class RecordState : std::uint8_t { healthy, lagging, failed };
struct RecordHealth { RecordState state{}; };
struct GivingNotDurable { std::int64_t seq{0}; };  // The row that gave was not on disk in time.
struct ClockStep { Duration by; };        // The wall clock jumped.
struct QueueOverflow { std::int64_t lost{0}; };
struct EngineLate { Duration by; };        // Nobody decided for so long, or decided on readings that old.
struct FilesOnDisk { bool rig_differs{false}, plan_differs{false}; };
struct Tick {};                           // Time alone; leaves no trace.

struct Event {
  Instant at;
  WallTime wall;
  std::variant<Tick, Started, Ended, JobInForce, NoJob, Scan, OutputReport, Action, RecordHealth, GivingNotDurable,
               ClockStep, QueueOverflow, EngineLate, FilesOnDisk>
      what;
};

}  // namespace standfast
