// Whether each serial line can carry what it is asked for: refused where it cannot, because a bus that falls behind turns
// every reading on it stale sooner or later.
#include <cmath>

#include "config/duration_text.hpp"
#include "config/line_load.hpp"
#include "config/plan_draft.hpp"
#include "config/poll_periods.hpp"
#include "config/rig_draft.hpp"

namespace standfast {
namespace {

constexpr double full = 1;

bool more(double share, double than) {
  constexpr Dimension ratio{Base::ratio, Per::none};
  return exceeds({ratio, share}, {ratio, than});
}

std::string percent(double share) { return std::to_string(static_cast<long>(std::ceil(share * 100 - 1e-6))) + " %"; }

std::string asked_for(const Bus& bus, const BusLoad& load) {
  std::string text = "bus " + bus.name + " is asked for " + percent(load.share()) + " of what its line carries";
  if (load.outputs > 0) text += ", " + percent(load.outputs) + " of it by the output module";
  return text;
}

// What is named here passes, with time to ask again.
Advice advice(const BusLoad& load) {
  const auto achievable = load.achievable();
  if (!achievable) return {duration_text(load.most_frequent), "a line of its own for the output module", {}};
  return {duration_text(load.most_frequent),
          "periods " + percent(load.polls / (nearly_full - load.outputs)) + " as long, the shortest of them " +
              duration_text(*achievable) + "; or a faster line, or fewer channels",
          {}};
}

// A line that is full is refused, one that is nearly full is told.
void judge(const Bus& bus, const BusLoad& load, Spot spot, Complaints& complaints) {
  if (serial_of(bus) == nullptr) return;
  if (more(load.share(), full)) {
    complaints.add("E-line-full", spot, asked_for(bus, load), advice(load));
  } else if (more(load.share(), nearly_full)) {
    complaints.add("W-line-full", spot, asked_for(bus, load) + ", and a lost request could not be repeated", advice(load));
  }
}

void judge_shared_line(const RigDraft& draft, const PollPlan& polls) {
  const auto line = shared_line(draft.rig, polls);
  if (!line) return;
  const Bus& bus = draft.rig.buses[draft.rig.output_module->bus.at()];
  if (line->longest_request + line->slowest_answer <= bus.timeout) return;
  draft.complaints.add("W-line-outputs", {draft.rig.output_module->place, 1},
                       "behind an instrument that is silent, bus " + bus.name + " is quiet for up to " +
                           duration_text(line->slowest_answer) + ", and the output module gives up after " +
                           duration_text(bus.timeout),
                       {{}, "a line of its own for the output module, or a shorter 'slowest_answer'", {}});
}

}  // namespace

void check_lines(RigDraft& draft) {
  const PollPlan polls = poll_plan(draft.rig);
  const auto loads = bus_loads(draft.rig, polls, poll_periods(polls, nullptr));
  for (std::size_t i = 0; i < loads.size(); ++i) {
    const Bus& bus = draft.rig.buses[i];
    judge(bus, loads[i], {bus.place, static_cast<int>(bus.name.size())}, draft.complaints);
  }
  judge_shared_line(draft, polls);
}

// What a stage leaves as the rig has it was judged with the rig.
void check_lines(PlanDraft& draft) {
  const PollPlan polls = poll_plan(draft.rig);
  const auto before = bus_loads(draft.rig, polls, poll_periods(polls, nullptr));
  for (const StageDraft& stage : draft.stages) {
    if (stage.stage.polls.empty()) continue;
    const auto loads = bus_loads(draft.rig, polls, poll_periods(polls, &stage.stage));
    for (std::size_t i = 0; i < loads.size(); ++i)
      if (more(loads[i].share(), before[i].share())) judge(draft.rig.buses[i], loads[i], stage.polls_spot, draft.complaints);
  }
}

}  // namespace standfast
