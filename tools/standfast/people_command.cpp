// people: the station's list. The first engineer is made by root, or with --station by the owner of that folder; everybody
// else by an engineer.
#include <sys/stat.h>
#include <unistd.h>

#include <boost/json.hpp>
#include <iostream>

#include "config/time_text.hpp"
#include "daemon/core/authority.hpp"
#include "daemon/service/people.hpp"
#include "drivers/boot_clock.hpp"
#include "tools/standfast/columns.hpp"
#include "tools/standfast/commands.hpp"
#include "tools/standfast/talk.hpp"

namespace standfast::client {
namespace {

namespace json = boost::json;

People list_of(const Arguments& arguments) {
  auto people = read_people(station_of(arguments));
  if (!people) throw Trouble{configuration, people.error()};
  return std::move(*people);
}

void save(const Arguments& arguments, const People& people) {
  const auto written = write_people(station_of(arguments), people);
  if (!written) throw Trouble{cannot_create, written.error()};
}

bool owns_the_station(const Arguments& arguments) {
  if (::geteuid() == 0) return true;
  struct stat facts {};
  return arguments.has("station") && ::stat(station_of(arguments).c_str(), &facts) == 0 && facts.st_uid == ::geteuid();
}

// Who makes the change; by name once there is an engineer.
std::string maker(const Arguments& arguments, const People& people) {
  if (!has_engineer(people)) {
    if (owns_the_station(arguments)) return "owner of the machine";
    throw Trouble{not_permitted, "the first engineer is made by root, or with --station by the owner of that folder"};
  }
  const std::string name = arguments.get("as");
  if (name.empty()) throw Trouble{not_permitted, "an engineer changes the list: --as NAME"};
  const auto known = claim(people, name);
  if (!known) throw Trouble{not_permitted, known.error()};
  if (known->role != Role::engineer) throw Trouble{not_permitted, name + " is no engineer"};
  return name;
}

json::object shown(const Person& person) {
  json::array roles;
  for (const Role role : person.roles) roles.emplace_back(role_name(role));
  return {{"name", person.name}, {"roles", std::move(roles)}, {"since", person.since}, {"ended", person.ended},
          {"added_by", person.added_by}};
}

void tell_json(json::array persons) {
  std::cout << json::serialize(json::object{{"schema", "standfast-people-1"},
                                            {"time", wall_time_text(wall_time_now())},
                                            {"people", std::move(persons)}})
            << '\n';
}

// What was changed: the person as the list now has them, or in words.
void tell_changed(const Arguments& arguments, const People& people, const std::string& words) {
  const std::string name = arguments.operand(1);
  if (!arguments.has("json")) {
    std::cout << name << words << '\n';
    return;
  }
  for (const Person& person : people.list)
    if (person.name == name) tell_json({shown(person)});
}

int add(const Arguments& arguments) {
  People people = list_of(arguments);
  const auto role = role_named(arguments.get("role"));
  if (!role) throw Trouble{usage, "--role wants technician, supervisor, engineer, auditor or surveyor"};
  const std::string by = maker(arguments, people);
  if (!has_engineer(people) && *role != Role::engineer)
    throw Trouble{not_permitted, "the first on the list must be an engineer"};
  const std::string name = arguments.operand(1);
  auto changed = with_added(std::move(people), {name, *role, wall_time_text(wall_time_now()), by});
  if (!changed) throw Trouble{bad_input, changed.error()};
  save(arguments, *changed);
  tell_changed(arguments, *changed,
               " is " + std::string(role_name(*role)) + " from now on (named, not verified: there are no codes yet)");
  return done;
}

int end(const Arguments& arguments) {
  People people = list_of(arguments);
  maker(arguments, people);
  auto changed = with_ended(std::move(people), arguments.operand(1), wall_time_text(wall_time_now()));
  if (!changed) throw Trouble{bad_input, changed.error()};
  save(arguments, *changed);
  tell_changed(arguments, *changed, " is no longer on site");
  return done;
}

int list(const Arguments& arguments) {
  const People people = list_of(arguments);
  if (arguments.has("json")) {
    json::array all;
    for (const Person& person : people.list) all.push_back(shown(person));
    tell_json(std::move(all));
    return done;
  }
  TableText table{{"name", "roles", "since", "ended", "added by"}, {false, false, false, false, false}, {}};
  for (const Person& person : people.list) {
    std::string roles;
    for (const Role role : person.roles) roles += (roles.empty() ? "" : ", ") + std::string(role_name(role));
    table.lines.push_back({person.name, roles, person.since, person.ended, person.added_by});
  }
  std::cout << text_of(table);
  return done;
}

}  // namespace

int people(const Arguments& arguments) {
  const std::string verb = arguments.operand(0);
  if (verb == "list") return list(arguments);
  if (verb != "add" && verb != "end") throw Trouble{usage, "people add NAME, people end NAME or people list"};
  if (arguments.operand(1).empty()) throw Trouble{usage, "people " + verb + " wants a name"};
  return verb == "add" ? add(arguments) : end(arguments);
}

}  // namespace standfast::client
