// How often each block of the poll plan is asked while a stage runs.
#pragma once

#include <vector>

#include "config/poll_plan.hpp"
#include "config/stages.hpp"

namespace standfast {

// As the block's most frequent member needs, by the stage's own word where it has one for a channel, else by the rig's.
// Without a stage: the rig's own periods.
std::vector<Duration> poll_periods(const PollPlan& polls, const Stage* stage);

// The same for each channel of the rig; of one that is read by hand how often it is to be entered.
std::vector<Duration> channel_periods(const Rig& rig, const PollPlan& polls, const Stage* stage);

}  // namespace standfast
