// The status screen: 80 columns, 24 lines, always the same thing at the same place. A pure function of a picture.
#pragma once

#include <boost/json.hpp>
#include <string>
#include <vector>

#include "tools/standfast/colour.hpp"
#include "tools/standfast/exit_code.hpp"
#include "tools/standfast/local_time.hpp"

namespace standfast::client {

inline constexpr std::size_t screen_width = 80, screen_height = 24;

struct ScreenLine {
  std::string text;
  Ink ink{Ink::plain};
};
// At most `screen_height` lines of at most `screen_width` characters.
std::vector<ScreenLine> screen_of(const boost::json::object& picture, const LocalTime& time);

// Every open alarm, STOP first, then HOLD, then REVIEW, within a level the newest first. In list_commands.cpp.
std::string alarms_text(const boost::json::array& list, const LocalTime& time);

std::string screen_text(const std::vector<ScreenLine>& lines, bool coloured);

// The exit code of `status` for this picture.
ExitCode status_code(const boost::json::object& picture);

}  // namespace standfast::client
