// The two tables of the status screen: jacks, and the limits in force with every point's nearest one always on top.
#pragma once

#include <boost/json.hpp>

#include "tools/standfast/screen.hpp"

namespace standfast::client {

void add_jacks(std::vector<ScreenLine>& lines, const boost::json::object& picture);

// At most `room` lines.
void add_limits(std::vector<ScreenLine>& lines, const boost::json::object& picture, std::size_t room);

}  // namespace standfast::client
