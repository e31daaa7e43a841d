// What the rig writes down: every change of its contacts, every order and fault, each with its time. From it alone it can
// be judged what the outputs did.
#pragma once

#include <string>

#include "config/instant.hpp"

namespace standfast::rig {

struct LogEntry {
  Duration at;        // Real time since the rig began.
  std::string what;   // output, pump, command, start
  std::string subject;  // Name of the output, state of the pump, the command's text.
  bool on{false};     // output only.
  std::string by;     // output: coil, watchdog, site stop, contact, power; command: control, script; else empty.
  std::string answer;  // command only.
};

// One JSON object without a line end: {"t_ms":1200,"output":"raise_permit","on":true,"by":"coil"} for an output,
// {"t_ms":..,"pump":"running"}, {"t_ms":..,"command":"..","by":"script","answer":".."}.
std::string json_line(const LogEntry& entry);

// `text` as a JSON string, quotes included.
std::string json_string(const std::string& text);

}  // namespace standfast::rig
