// Findings of the loaders, printed as a compiler would.
#pragma once

#include <boost/json.hpp>
#include <string>

#include "config/finding.hpp"
#include "tools/standfast/command.hpp"

namespace standfast::client {

// One file that was looked at: its name, its bytes, what is to be said about it.
struct Looked {
  std::string file, bytes;
  Findings findings;
  bool looked_at{true};
};
// Prints all; `consequence` stands in the last line of each file that has an error. Exit code 1 if any has.
int tell_findings(const Arguments& arguments, const std::vector<Looked>& files, const std::string& consequence);

// Findings that the daemon sent back instead of an answer.
int tell_findings(const Arguments& arguments, const boost::json::object& answer);

}  // namespace standfast::client
