// What the engineer stated in stages.yaml, as plain structs; checked and resolved against the rig by load_stages.
// Wildcards (`load J*`) have been expanded: one Limit or Criterion for each jack, point or channel.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "config/ids.hpp"
#include "config/instant.hpp"
#include "config/quantity_kinds.hpp"
#include "config/rig.hpp"
#include "config/units.hpp"

namespace standfast {

// In order of severity: the worst is the largest.
enum class Level : std::uint8_t { none, review, hold, stop };

enum class Role : std::uint8_t { technician, supervisor, engineer, auditor, surveyor };

// What a bound may refer to, beside plain amounts. All are of the bound's own dimension when multiplied out.
enum class Reference : std::uint8_t {
  target,         // of the step now due, for the limit's jack (or the whole where the quantity is a sum)
  full_target,    // the same at 100 %
  rated,          // of the limit's jack
  column_low, column_expected, column_high,
  planned_share,  // of the limit's jack
  stroke,         // stroke limit of the limit's jack
};
struct Term { double factor{1}; Reference reference{}; };

// sum of factor x reference, plus a constant in SI: `target plus 5 % of full target`, `rated`, `0.5 mm`.
struct Bound {
  std::vector<Term> terms;
  double constant{0};
};

struct LevelBound {  // `beyond x` is kept as above x and below -x.
  std::optional<Bound> above, below;
  Duration persist{};
};

struct Gate {  // The limit is in force only while the quantity is beyond the bound.
  QuantityRef of;
  std::optional<Bound> above, below;
};

struct Limit {
  std::string name;  // Unique in its stage; what status, alarms and `amend` call it.
  QuantityRef of;
  std::optional<LevelBound> review, hold, stop;
  Duration clear_after{};
  double deadband{0};  // SI.
  std::optional<Gate> when;
  bool guard_uncertainty{false};
  std::string say;                 // At most 60 characters; empty: the default line.
  std::optional<Role> reset_by;    // Stricter than the table, never looser.
  Place place;
};

// What must be true before a stage or step may be proposed for approval.
struct Criterion {
  std::string name;
  enum class Kind : std::uint8_t { quantity, entered, reading_sets, proofs } kind{Kind::quantity};
  QuantityRef of;                    // quantity
  std::optional<Bound> above, below; // quantity: must lie within (equality is within)
  std::string entered;               // entered: the subject of a note that must exist in this stage
  Place place;
};

enum class StageKind : std::uint8_t {
  commission, baseline, snug, rezero_travel, raise, equalise, lock_off, pressure_down, lift_off_check, watch, cut,
  after_removal, transfer_back
};
inline constexpr int stage_kind_count = 13;

struct JackTarget { JackId jack; Force load; Force full; };  // full: at 100 %.

struct Step {
  std::string name;
  Ratio percent;                    // Of the planned load; 100 % = planned share x expected column load.
  std::vector<JackTarget> targets;
  Duration observe{};               // The observation period, counted while every load stands in its band.
  Ratio within;                     // Half width of the band, of the target.
  std::vector<Duration> read_at;
  struct Predicted { JackId jack; Length travel; Length within; };
  std::vector<Predicted> predicted;
  Place place;
};

struct Mark {  // The mean of good readings over a window, taken when its stage is entered.
  std::string name;
  StageId taken_in;
  Duration window{};
};

struct Poll { ChannelId channel; Duration every{}; Duration stale_after{}; };  // Of one stage, instead of the rig's.

struct Stage {
  std::string name;
  StageKind kind{};
  std::vector<Step> steps;          // Empty for stages without a target.
  std::vector<Limit> limits;
  std::vector<Criterion> proceed_when;
  std::vector<Role> sign_off;       // Each must approve; more than one: different persons.
  std::optional<Pressure> pressure_limit;  // commission: up to this.
  std::vector<Poll> polls;
  Duration window{};                // baseline: over which the baseline mark is taken.
  bool unattended{false};
  Duration call_out_after{};
  std::string say_hold, say_stop;   // Replace the default lines of the kind.
  std::optional<Role> permit_by;    // engineer: the supervisor's word is not enough here.
  bool bad_reading_stops{false};    // The instrument alarm of a channel that a STOP needs is STOP, not HOLD.
  Place place;
};

struct Proofs {  // How long the loads are watched with the permit dropped, and what they may lose.
  Duration watch{minutes(2)};
  Ratio pressure_loss;   // Default 2 %.
  Length travel_loss;    // Default 0.05 mm.
};

struct Plan {
  std::string title, revision, engineer;
  Force column_low, column_expected, column_high;
  std::vector<Mark> marks;
  std::vector<std::string> reset_reasons;
  Proofs proofs;
  Duration reading_set_window{seconds(10)};
  std::vector<Stage> stages;
};

}  // namespace standfast
