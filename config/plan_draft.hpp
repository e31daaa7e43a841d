// The plan while it is being read, and what its readers share.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "config/complaints.hpp"
#include "config/stages.hpp"
#include "config/yaml_fields.hpp"

namespace standfast {

inline constexpr std::size_t level_count = 3;  // review, hold, stop

// Bounds on what stars and sets may multiply to.
inline constexpr std::size_t most_limits_of_a_stage = 1000, most_limits_of_a_plan = 20'000, most_criteria_of_a_stage = 500;

struct DraftLimit {
  Limit limit;
  Spot spot;
  std::array<Spot, level_count> level_spots{};
};

struct LimitSet {
  std::string name;
  Spot spot;
  std::vector<DraftLimit> limits;
  bool used{false};
};

struct StageDraft {
  Stage stage;
  Spot spot;
  Spot polls_spot{};  // Where it states poll periods; nowhere where it states none.
  std::vector<DraftLimit> limits;
  bool kind_known{false};  // False: its kind was complained about.
};

struct PlanDraft {
  const Rig& rig;
  Complaints& complaints;
  Plan plan{};                      // Its stages stand in `stages` until all is read.
  std::vector<StageDraft> stages{};
  std::vector<LimitSet> limit_sets{};
  std::size_t limits_so_far{0};     // In all stages.
};

// load_quantity.cpp: `of`, `since`, `from` and `over` of a limit, gate or criterion; several where the name has a star.
// Empty where something was complained about.
std::vector<QuantityRef> read_quantities(const Fields& fields, PlanDraft& draft);
// As a person would say it: "movement HEAD since baseline". The same words as in the file.
std::string quantity_name(const QuantityRef& of, const Rig& rig, const Plan& plan);

// load_bound.cpp: `0.5 mm`, `rated`, `target plus 5 % of full target`. The references must fit the quantity.
std::optional<Bound> read_bound(const YamlNode* node, const QuantityRef& of, Complaints& complaints);
Bound negated(Bound bound);

// load_limits.cpp
std::vector<DraftLimit> read_limits(const YamlNode* node, PlanDraft& draft);
// The line for people at the jacks: at most 60 characters.
std::optional<std::string> read_say(const YamlNode* node, Complaints& complaints);
// load_criteria.cpp
std::vector<Criterion> read_criteria(const YamlNode* node, PlanDraft& draft);
// load_steps.cpp
void read_steps(const Fields& fields, StageDraft& stage, PlanDraft& draft);
// load_stage.cpp
void read_stage(const YamlNode& node, PlanDraft& draft);
// check_stages.cpp: what holds between stages, limits and rig.
void check_stages(PlanDraft& draft);
// check_limits.cpp: order and reach of the limits of one stage.
void check_limits(const StageDraft& stage, const PlanDraft& draft);

// check_lines.cpp: what the serial lines can carry while a stage polls at its own pace.
void check_lines(PlanDraft& draft);
// check_buses.cpp: how long a bus waits for an answer, beside what a stage calls stale.
void check_waits(PlanDraft& draft);
// check_windows.cpp: whether windows can ever hold the readings that they need.
void check_windows(PlanDraft& draft);

// In the order of StageKind.
enum class StepsWanted : std::uint8_t { none, optional, rising, falling };
struct StageKindEntry {
  std::string_view word;
  StepsWanted steps;
  bool watching;     // Nothing is pumped: stale_after may reach 60 s, and nobody need stand by.
};
const StageKindEntry& entry_of(StageKind kind);
std::optional<StageKind> read_stage_kind(const YamlNode* node, Complaints& complaints);

}  // namespace standfast
