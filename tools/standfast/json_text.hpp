// Reading the daemon's JSON for show: what is missing is empty, never an exception.
#pragma once

#include <boost/json.hpp>
#include <cstdint>
#include <string>
#include <string_view>

namespace standfast::client {

// Text as it is, numbers and truth values as they are written, nothing for null and for a missing key.
std::string text_at(const boost::json::object& object, std::string_view key);
// `text` of the object at that key: a quantity as the daemon words it.
std::string shown_at(const boost::json::object& object, std::string_view key);
std::int64_t number_at(const boost::json::object& object, std::string_view key, std::int64_t otherwise = 0);
bool truth_at(const boost::json::object& object, std::string_view key);
// Empty where it is missing.
const boost::json::object& object_at(const boost::json::object& object, std::string_view key);
const boost::json::array& array_at(const boost::json::object& object, std::string_view key);

// Stands before a number that a person read and entered.
inline const std::string hollow = "\u25cb ";
// `by hand 5:12:03 ago`: how old the oldest entry behind a value is; empty where it rests on none.
std::string by_hand_words(const boost::json::object& reading);

// What a reading says in a cell of a table; where it has no number, that in a word: its cause stands elsewhere.
std::string cell_words(const boost::json::object& reading);
// Of a reading without a number: the last it had, marked with how old that is; empty where there was none.
std::string last_words(const boost::json::object& reading);

// `cannot exclude HOLD`: the highest level of a limit that its value may have passed for all that is known of the value;
// empty where there is none, and for a limit that is not in force.
std::string cannot_exclude_words(const boost::json::object& limit);

// `2:14` from milliseconds, `1:02:14` from an hour on.
std::string clock_text(std::int64_t milliseconds);

}  // namespace standfast::client
