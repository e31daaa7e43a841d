// The rig while it is being read. Each part of the file has its reader; a thing that was complained about still stands in
// the draft under its name, so that what refers to it is not complained about as well.
#pragma once

#include <optional>
#include <vector>

#include "config/complaints.hpp"
#include "config/rig.hpp"
#include "config/yaml_fields.hpp"

namespace standfast {

struct RigDraft {
  Rig rig;
  Complaints& complaints;
  std::vector<bool> dimension_known{};  // Of each channel.
  std::vector<bool> by_hand{};          // Of each channel: it says so itself.
  bool shares_known{true};              // No planned share was complained about.
};

// load_buses.cpp
void load_buses(const YamlNode* buses, RigDraft& draft);
// load_channels.cpp
void load_channels(const YamlNode* channels, RigDraft& draft);
// load_jacks.cpp
void load_jacks(const YamlNode* jacks, RigDraft& draft);
void load_groups(const YamlNode* groups, RigDraft& draft);
void load_circuits(const YamlNode* circuits, RigDraft& draft);
// load_points.cpp
void load_points(const YamlNode* points, RigDraft& draft);
std::optional<Position> read_position(const YamlNode* node, Complaints& complaints);
// load_outputs.cpp
void load_inputs(const YamlNode* inputs, RigDraft& draft);
void load_output_module(const YamlNode* module, RigDraft& draft);
// check_rig.cpp: what no single part can see.
void check_rig(RigDraft& draft);

// check_slips.cpp: numbers that a mistaken unit would explain. True for each jack that was told of, or whose transducer was.
std::vector<bool> check_slips(RigDraft& draft);
// check_buses.cpp: buses beside each other, and how long each waits for an answer.
void check_buses(RigDraft& draft);
// check_lines.cpp: what the serial lines can carry.
void check_lines(RigDraft& draft);

// `unit_id`, 1 to 247, or 255 for a device that is itself the end of a TCP connection.
std::optional<int> read_unit_id(const YamlNode* node, Complaints& complaints);

}  // namespace standfast
