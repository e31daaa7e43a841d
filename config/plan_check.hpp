// What a plan costs and what it leaves open: said by `standfast check` once both files load. Warnings, never errors.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "config/finding.hpp"
#include "config/line_load.hpp"
#include "config/rig.hpp"
#include "config/stages.hpp"

namespace standfast {

// How far a point can move between its last good reading and the HOLD that says it went stale. Of the stage, from the
// baseline on, in which that is most.
struct StaleAllowance {
  PointId point;
  StageId stage;
  Duration stale_after{};         // The slowest of the point's gauges on wires, or of those by hand if it has no other;
  Duration frozen_after{};        // likewise, where several are on wires; 0: none would tell of another in time.
  Duration entered_every{};       // Of its gauges that are read by hand, the most seldom; 0: none is.
  bool by_hand_alone{false};
  std::optional<Length> movement;  // By the mildest rate limit of the point that holds; none: no rate limit bounds it.
};

// Of one bus, in the stage in which its share is largest.
struct BusUse {
  BusLoad load;
  StageId stage;
};

struct PlanCheck {
  Findings findings;
  std::vector<StaleAllowance> allowances;  // One for each point.
  double bytes_a_day{0};                   // Of the record, in the stage that polls most.
  StageId busiest;
  std::vector<BusUse> buses;               // One for each bus.
  std::optional<SharedLine> shared_line;
};

// `rig` and `plan` as loaded, without errors; findings are about the plan's file.
PlanCheck check_plan(const Rig& rig, const Plan& plan, std::string_view plan_file_name);

// Two or more lines for people.
std::string plan_check_text(const PlanCheck& check, const Rig& rig, const Plan& plan);

// The record keeps every answer: about 6 bytes a reading, and 60 for the row around them (measured; design of the record).
double bytes_a_day(const Rig& rig, const Stage& stage);

}  // namespace standfast
