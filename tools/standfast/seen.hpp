// What a person decides on. An act that loosens goes to the daemon with the number of a picture, and is refused there when
// that picture has moved on; so the number must be that of a picture which was shown.
//
// With --seen NUMBER it is the one that `status` showed. Without, the command looks itself, prints what stands in that
// picture (on stderr), and on a terminal waits for the person's word before it sends that number. Without a terminal
// nobody can be asked: what is printed is what was decided on.
#pragma once

#include <boost/json.hpp>
#include <cstdint>
#include <string>

#include "tools/standfast/command.hpp"

namespace standfast::client {

// A few lines: signal and why, permit, stage, every open alarm.
std::string picture_words(const boost::json::object& picture);

// The number to send. Trouble where the person does not want it after all, or --seen is no number.
std::int64_t seen_by_person(const Arguments& arguments, const boost::json::object& newest);

}  // namespace standfast::client
