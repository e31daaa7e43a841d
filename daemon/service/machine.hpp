// What the machine says of itself, and what is said to its keeper (systemd). Nothing here can fail in a way that matters.
#pragma once

#include <string>

namespace standfast {

std::string boot_id();    // Of the kernel; "unknown" where it cannot be read.
std::string host_name();

// Whoever starts a process may have closed its standard streams: the next file or socket would become one, and what is said to
// people would be written into it. And a pipe or socket that nobody reads must not hold up even last words. Before anything
// else is opened.
void ready_standard_streams();

// A line for whoever reads the messages of this process, with its priority in front: `<5>`. Waits for nobody: where it is not
// read and there is no room left, it is lost, and stands in `standfast status` all the same.
void say(const std::string& line);

void tell_ready();
void tell_status(const std::string& line);
void feed_watchdog();
void tell_stopping();

}  // namespace standfast
