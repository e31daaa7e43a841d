// What each command does, one function each; the table in commands.cpp points here. Each returns the exit code.
#pragma once

#include "tools/standfast/command.hpp"

namespace standfast::client {

// status_command.cpp
int status(const Arguments& arguments);
int watch(const Arguments& arguments);
// list_commands.cpp
int limits(const Arguments& arguments);
int alarms(const Arguments& arguments);
int readings(const Arguments& arguments);
// events_command.cpp
int events(const Arguments& arguments);
// act_commands.cpp
int acknowledge(const Arguments& arguments);
int silence(const Arguments& arguments);
int stop(const Arguments& arguments);
int reset(const Arguments& arguments);
int permit(const Arguments& arguments);
int stage(const Arguments& arguments);
int accept(const Arguments& arguments);
int prove(const Arguments& arguments);
int zero(const Arguments& arguments);
int shift(const Arguments& arguments);
// enter_command.cpp
int enter(const Arguments& arguments);
// swap_command.cpp
int swap_instrument(const Arguments& arguments);
// file_commands.cpp
int check(const Arguments& arguments);
int offer(const Arguments& arguments);
int adopt(const Arguments& arguments);
// export_command.cpp
int export_record(const Arguments& arguments);
// replay_command.cpp
int replay(const Arguments& arguments);
// rehearse_command.cpp
int rehearse_plan(const Arguments& arguments);
// people_command.cpp
int people(const Arguments& arguments);

}  // namespace standfast::client
