// The limits that count now: the always-on guards of the rig, then those of the live stage. What each level remembers
// lives in the state; this list is worked out anew from the job whenever the stage changes.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "config/rig.hpp"
#include "config/stages.hpp"
#include "daemon/core/effect.hpp"
#include "daemon/core/limit.hpp"
#include "daemon/core/quantity/mark.hpp"

namespace standfast {

inline constexpr std::array<Level, 3> limit_levels{Level::review, Level::hold, Level::stop};

// When a limit counts: always, or only from the moment at which the band of the step now due was first reached, or up to it.
enum class InForce : std::uint8_t { always, once_reached, until_reached };

struct LimitInForce {
  Limit limit;
  bool guard{false};                   // A plan can tighten it, not remove it.
  InForce in_force{InForce::always};
  bool has_median{false};
  std::vector<ChannelId> channels;     // Behind its quantity;
  std::vector<ChannelId> gate_channels;  // behind its gate: no evidence that the quantity is beyond.
  CountedFrom counted_from;            // What its mark must hold.
  std::array<std::optional<LevelInForce>, 3> levels;  // As limit_levels; worked out for the step now due.
  LevelInForce gate;                   // The bounds of its `when`, worked out likewise.
};

struct LimitsInForce {
  std::vector<LimitInForce> limits;
  std::vector<Level> needed;           // By channel: the highest level that needs it.
};

// What one limit remembers between evaluations.
struct LimitMemory {
  std::array<Watch, 3> watches{};      // As limit_levels.
  bool gated_off{false};
  Judged last{};                       // As of its newest evaluation.
  std::string name;

  template <class A>
  void visit(A& a) {
    a("name", name);
    a("watches", watches);
    a("gated_off", gated_off);
    a("last", last);
  }
};

// The step whose loads stand when this one becomes due: of this stage, or the last of the closed stage before it. None where
// nothing has been reached, or where the load went on to nuts and packing between. `states`: one for each stage.
const Step* step_before(const Plan& plan, std::size_t stage, std::size_t step, std::span<const StageState> states);

// `before`: the step whose loads are guarded until those of `step` are reached, or none.
LimitsInForce limits_in_force(const Rig& rig, const Plan& plan, const Stage* stage, const Step* step, const Step* before);

// Another step is due: its targets count from now on.
void work_out(LimitsInForce& limits, const Rig& rig, const Plan& plan, const Step* step);

// Memory for these limits. What a limit of the same name remembered goes on, unless it watched another quantity.
// `before`: the limits that `old` belongs to; none after a snapshot, which belongs to these.
std::vector<LimitMemory> carried_over(const LimitsInForce& limits, const LimitsInForce& before, std::vector<LimitMemory>&& old,
                                      Instant now);

const std::optional<LevelBound>& level_bound(const Limit& limit, Level level);

}  // namespace standfast
