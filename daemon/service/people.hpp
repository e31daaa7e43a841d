// Who may be named with an act: the station's own list of persons and their roles. It belongs to the machine, never to a
// job. There are no codes in it yet, so the service can check that a person is on the list, not that it is that person;
// every act is therefore recorded as "not verified".
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "config/result.hpp"
#include "daemon/core/action.hpp"

namespace standfast {

struct Person {
  std::string name;
  std::vector<Role> roles;  // At least one.
  std::string since;        // RFC 3339, UTC.
  std::string ended;        // Empty while the person is on site. Nobody is ever deleted.
  std::string added_by;
};

struct People {
  std::vector<Person> list;
};

inline constexpr std::size_t person_name_most = 60;
inline constexpr std::size_t most_people = 1000;

std::string people_path(const std::string& station);

// A missing file is an empty list. The error says what is wrong with the file.
Result<People, std::string> read_people(const std::string& station);
// Replaces the file as a whole, or leaves the old one; the error says why.
Result<bool, std::string> write_people(const std::string& station, const People& people);

// Adds a person or gives one on the list another role. The error says what is wrong.
struct Addition { std::string name; Role role{}; std::string now, by; };
Result<People, std::string> with_added(People people, const Addition& addition);
Result<People, std::string> with_ended(People people, const std::string& name, const std::string& now);

bool has_engineer(const People& people);

// The claim that goes with an act: the name must be on the list and not ended. Of several roles the one that may do most
// counts. The error is a sentence for the person.
Result<PersonClaim, std::string> claim(const People& people, const std::string& name);

std::optional<Role> role_named(std::string_view text);

}  // namespace standfast
