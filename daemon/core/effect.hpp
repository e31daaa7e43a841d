// Everything that can go out. The order in `Effects::rows` is the order of decision; each row becomes one row of the
// record. `wanted` goes to the output module: what takes at once, what gives only after the commit of its cause.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "daemon/core/action.hpp"
#include "daemon/core/cause.hpp"
#include "daemon/core/reading.hpp"
#include "drivers/output_report.hpp"

namespace standfast {

enum class AlarmState : std::uint8_t {
  normal, unacknowledged, acknowledged, returned_unacknowledged, latched_unacknowledged, latched_acknowledged,
  out_of_service
};
inline constexpr int alarm_state_count = 7;

using AlarmNumber = std::int32_t;  // Of one episode, from 1; never used again.

struct AlarmChange {
  AlarmNumber number{0};
  std::string subject;   // The limit's or channel's name, with its stage: what status shows.
  Cause cause{};
  Level level{};
  AlarmState from{}, to{};
  bool first_out{false};
  std::optional<Amount> value, bound;  // At the change.
  std::string say;       // The line that tells what to do.
  std::string by;        // The person, for acknowledge and reset.
};

struct SignalChange { Level from{}, to{}; Cause cause{}; std::string subject; };

enum class PermitKind : std::uint8_t { none, raise, top_up, lower, recover, commission };

struct PermitChange {
  PermitKind kind{};
  bool given{false};     // False: ended.
  Cause cause{};         // Why it ended.
  std::string stage, step, circuits, by, second;
};

enum class StageState : std::uint8_t {
  planned, running, observation, criteria_met, awaiting_approval, approved, closed, abandoned, skipped
};
inline constexpr int stage_state_count = 9;

struct StageChange {
  std::string stage, step;
  StageState from{}, to{};
  std::string by, second;
  std::string facts;     // Criterion by criterion: value, bound, met or not.
};

struct OutputChange { OutputImage wanted{}; bool gives{false}; bool heartbeat_withheld{false}; };

struct ActionAnswer {
  Act what{};
  bool accepted{false};
  std::string code;      // Stable reason of a refusal, or "done".
  std::string text;      // For the person.
};

struct Notice { std::string code, text; };  // An event without a level: clock step, retry count, proof begun ...

struct MarkTaken { std::string mark, point; Amount mean{}; double standard_error{0}; int readings{0}; };

struct ReadingSet { std::string stage, step; Duration after{}; std::string values; };

struct ProofResult { std::string proof; bool passed{false}; std::string facts; };

// A derived value that a decision rests on, or its once-a-second summary.
struct DerivedValue { std::string quantity; Reading reading; };

struct SnapshotDue { Cause why{}; };  // The service writes Engine::snapshot() behind the rows before it.

using EffectRow = std::variant<AlarmChange, SignalChange, PermitChange, StageChange, OutputChange, ActionAnswer, Notice,
                               MarkTaken, ReadingSet, ProofResult, DerivedValue, SnapshotDue>;

// How the sounder sounds; the output thread makes the rhythm, so that HOLD and STOP are told apart by ear.
enum class Sound : std::uint8_t { silent, hold, stop };

struct Effects {
  std::vector<EffectRow> rows;
  std::vector<Instant> instants;    // When each row was decided; a budget may fill before the event that shows it.
  OutputImage wanted{};             // As from now.
  Sound sound{Sound::silent};
  bool withhold_heartbeat{false};   // A proof runs.
  std::optional<Instant> next;      // The next instant at which time alone could change anything.
};

}  // namespace standfast
