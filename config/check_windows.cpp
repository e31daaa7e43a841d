// Whether the windows of a plan can ever hold the five readings that a rate needs: without a value it lets no permit be given.
#include <algorithm>

#include "config/depends.hpp"
#include "config/duration_text.hpp"
#include "config/plan_draft.hpp"
#include "config/poll_periods.hpp"
#include "config/quoted.hpp"

namespace standfast {
namespace {

constexpr std::int64_t gaps_of_five_readings = 4, polls_of_a_window = 10;

class WindowsCheck {
 public:
  explicit WindowsCheck(PlanDraft& draft) : draft_{draft}, polls_{poll_plan(draft.rig)} {}

  void run() {
    for (const StageDraft& stage : draft_.stages) {
      const std::vector<Duration> periods = periods_of_channels(stage.stage);
      for (const DraftLimit& limit : stage.limits) {
        check_rate(limit.limit.of, limit.spot, stage, periods);
        if (limit.limit.when) check_rate(limit.limit.when->of, limit.spot, stage, periods);
      }
      for (const Criterion& criterion : stage.stage.proceed_when)
        if (criterion.kind == Criterion::Kind::quantity) check_rate(criterion.of, {criterion.place, 1}, stage, periods);
    }
  }

 private:
  // How often each channel is read in the stage; 0: by hand.
  std::vector<Duration> periods_of_channels(const Stage& stage) const {
    std::vector<Duration> periods(draft_.rig.channels.size());
    const std::vector<Duration> of_blocks = poll_periods(polls_, &stage);
    for (std::size_t i = 0; i < of_blocks.size(); ++i)
      for (const auto& place : polls_.blocks[i].channels) periods[place.channel.at()] = of_blocks[i];
    return periods;
  }

  // What several channels stand behind is evaluated whenever one of them is read.
  void check_rate(const QuantityRef& of, Spot spot, const StageDraft& stage, const std::vector<Duration>& periods) {
    if (!of.rate) return;
    Duration shortest{};
    for (const ChannelId channel : channels_of(of, draft_.rig)) {
      const Duration every = periods[channel.at()];
      if (every.ns > 0 && (shortest.ns == 0 || every < shortest)) shortest = every;
    }
    if (shortest.ns == 0 || of.over >= shortest * polls_of_a_window) return;
    const bool never = of.over < shortest * gaps_of_five_readings;
    const std::string what = quantity_name(of, draft_.rig, draft_.plan) + " is read every " + duration_text(shortest) +
                             " in stage " + quoted(stage.stage.name);
    draft_.complaints.add(never ? "E-window" : "W-window", spot,
                          what + (never ? ", and five readings do not fit into its window: it would never have a value"
                                        : ": a few lost readings leave it without a value"),
                          {duration_text(of.over), "'over' of ten polls or more (" + duration_text(shortest * polls_of_a_window) +
                                                       "), or shorter polls", {}});
  }

  PlanDraft& draft_;
  PollPlan polls_;
};

}  // namespace

void check_windows(PlanDraft& draft) { WindowsCheck{draft}.run(); }

}  // namespace standfast
