#include "tools/rig/log_entry.hpp"

#include <cstdio>

namespace standfast::rig {

std::string json_string(const std::string& text) {
  std::string out = "\"";
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (c == '"' || c == '\\') {
      out += '\\';
      out += c;
    } else if (byte < 0x20) {
      char escape[8];
      std::snprintf(escape, sizeof escape, "\\u%04x", byte);
      out += escape;
    } else {
      out += c;
    }
  }
  return out + '"';
}

std::string json_line(const LogEntry& entry) {
  std::string out = "{\"t_ms\":" + std::to_string(entry.at.ns / 1'000'000) + "," + json_string(entry.what) + ":" +
                    json_string(entry.subject);
  if (entry.what == "output") out += std::string{",\"on\":"} + (entry.on ? "true" : "false");
  if (!entry.by.empty()) out += ",\"by\":" + json_string(entry.by);
  if (!entry.answer.empty()) out += ",\"answer\":" + json_string(entry.answer);
  return out + "}";
}

}  // namespace standfast::rig
