// Which registers are read together, and how often. Pure: from the rig alone.
#pragma once

#include <vector>

#include "config/rig.hpp"

namespace standfast {

struct Block {  // One request. Of a text line: start 0, and an offset counts its values from 0.
  BusId bus;
  int unit_id{1};
  Table table{Table::holding_register};
  int start{0}, count{1};
  Duration every{};
  struct ChannelPlace { ChannelId channel; int offset; };
  struct InputPlace { InputId input; int offset; };
  std::vector<ChannelPlace> channels;
  std::vector<InputPlace> inputs;
};

struct PollPlan { std::vector<Block> blocks; };  // A BlockId is a place in it.

// Channels and inputs of one bus, unit, table and period whose registers lie near each other share a block of at most
// 125 registers or 2000 bits. The order is that of the rig's channels, then its inputs: the same rig gives the same
// blocks, for replay depends on it.
PollPlan poll_plan(const Rig& rig);

}  // namespace standfast
