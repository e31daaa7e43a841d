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

struct Pace {
  const Channel* channel;
  Duration every;
};

class WindowsCheck {
 public:
  explicit WindowsCheck(PlanDraft& draft) : draft_{draft}, polls_{poll_plan(draft.rig)} {}

  void run() {
    for (const StageDraft& stage : draft_.stages) {
      const std::vector<Duration> periods = channel_periods(draft_.rig, polls_, &stage.stage);
      for (const DraftLimit& limit : stage.limits) {
        check_rate(limit.limit.of, limit.spot, stage, periods);
        if (limit.limit.when) check_rate(limit.limit.when->of, limit.spot, stage, periods);
      }
      for (const Criterion& criterion : stage.stage.proceed_when)
        if (criterion.kind == Criterion::Kind::quantity) check_rate(criterion.of, {criterion.place, 1}, stage, periods);
    }
  }

 private:
  // What makes a quantity known: the slowest of its gauges, each of which has a window of its own. What several other channels
  // stand behind is evaluated whenever one of them is read.
  void check_rate(const QuantityRef& of, Spot spot, const StageDraft& stage, const std::vector<Duration>& periods) {
    if (!of.rate) return;
    std::optional<Pace> wired, by_hand;
    for (const ChannelId id : channels_of(of, draft_.rig)) {
      const Channel& channel = draft_.rig.channels[id.at()];
      const Pace next{&channel, periods[id.at()]};
      std::optional<Pace>& known = channel.bus ? wired : by_hand;
      if (!known || (is_by_gauge(of.kind) ? next.every > known->every : next.every < known->every)) known = next;
    }
    // Beside a gauge on a wire, one that is read by hand is there for its movement alone.
    if (wired || by_hand) judge(wired ? *wired : *by_hand, of, spot, stage);
  }

  void judge(const Pace& pace, const QuantityRef& of, Spot spot, const StageDraft& stage) {
    if (of.over >= pace.every * polls_of_a_window) return;
    const bool never = of.over < pace.every * gaps_of_five_readings;
    const std::string what = quantity_name(of, draft_.rig, draft_.plan) + ": channel " + pace.channel->name +
                             (pace.channel->bus ? " is read every " : " is entered every ") + duration_text(pace.every) +
                             " in stage " + quoted(stage.stage.name);
    draft_.complaints.add(never ? "E-window" : "W-window", spot,
                          what + (never ? ", and five readings do not fit into the window: its rate would never have a value"
                                        : ": a few lost readings leave its rate without a value"),
                          {duration_text(of.over), "'over' of ten readings or more (" +
                                                       duration_text(pace.every * polls_of_a_window) + "), or a shorter 'every'", {}});
  }

  PlanDraft& draft_;
  PollPlan polls_;
};

}  // namespace

void check_windows(PlanDraft& draft) { WindowsCheck{draft}.run(); }

}  // namespace standfast
