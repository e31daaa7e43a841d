// What the machine says of itself, and what is said to its keeper (systemd). Nothing here can fail in a way that matters.
#pragma once

#include <string>

namespace standfast {

std::string boot_id();    // Of the kernel; "unknown" where it cannot be read.
std::string host_name();

void tell_ready();
void tell_status(const std::string& line);
void feed_watchdog();
void tell_stopping();

}  // namespace standfast
