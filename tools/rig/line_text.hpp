// A line of text as an instrument says it: the pattern of the rig file with a number for each {value}, a checksum where the
// rig file states one, and the line's end. Pure.
//
// The checksum stands directly before the line's end, as hexadecimal digits (two; four of a CRC), over all bytes before it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "config/rig.hpp"
#include "tools/rig/wire_fault.hpp"

namespace standfast::rig {

// The counts of a channel with as many places behind the point as its resolution has.
std::string counts_text(const Channel& channel, double counts);

// `values` in the order of the pattern; none where the instrument has no number: it says its word for that.
std::string filled(const SerialLines& wire, const std::vector<std::optional<std::string>>& values);

// With checksum and line end.
std::string ended(const SerialLines& wire, const std::string& body);

// The line that a faulty instrument says in place of `ended(wire, filled(wire, values))`.
std::string line_said(const SerialLines& wire, std::vector<std::optional<std::string>> values, LineFault fault);

}  // namespace standfast::rig
