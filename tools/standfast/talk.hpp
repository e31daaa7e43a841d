// Talking to the daemon: pictures of the state, acts of persons.
#pragma once

#include <boost/json.hpp>
#include <string>

#include "tools/standfast/command.hpp"
#include "tools/standfast/exit_code.hpp"

namespace standfast::client {

// Why the program ends early; caught in main, which prints the text on stderr.
struct Trouble {
  ExitCode code{};
  std::string text;
};

std::string station_of(const Arguments& arguments);  // --station, else the system's folder of state.
std::string socket_of(const Arguments& arguments);   // With --station in that folder, else in the system's run folder.
// --job, else the folder of the daemon's job.
std::string job_folder_of(const Arguments& arguments);

boost::json::object picture_of(const Arguments& arguments);

// Sends the act with the persons and the reason of the options, prints the answer, says how it went.
struct Deed { std::string act, object, value; };
int act(const Arguments& arguments, const Deed& deed);
// The same for the files of the job: path `offer` or `adopt`.
int act_on_files(const Arguments& arguments, const std::string& path, const std::string& value);

}  // namespace standfast::client
