// How an act that was done is told to the person who did it, where the daemon has nothing of its own to say.
#pragma once

#include <boost/json.hpp>
#include <string>

#include "tools/standfast/talk.hpp"

namespace standfast::client {

// `before`: the picture that the act was decided on.
std::string done_words(const Deed& deed, const boost::json::object& before);

// What is missing from the command line behind a refusal for lack of authority: "say who acts: --as NAME". Empty: nothing.
std::string who_is_missing(const Arguments& arguments, const std::string& refusal);

// The plan's own reasons to reset, to stand behind other text: a new line, a heading, a line each. Empty where the plan
// has none.
std::string reset_reasons_words(const boost::json::object& picture);

// The heading of whatever tells of a job on simulated instruments; empty for a real one.
std::string simulated_heading(bool simulated);
std::string simulated_heading(const boost::json::object& picture);

}  // namespace standfast::client
