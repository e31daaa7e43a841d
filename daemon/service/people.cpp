#include "daemon/service/people.hpp"

#include <algorithm>
#include <boost/json.hpp>
#include <stdexcept>

#include "config/nearest_word.hpp"
#include "daemon/core/authority.hpp"
#include "daemon/service/whole_file.hpp"

namespace standfast {
namespace {

namespace json = boost::json;

constexpr Role all_roles[] = {Role::technician, Role::supervisor, Role::engineer, Role::auditor, Role::surveyor};

// The more a role may do, the later it stands.
constexpr Role by_weight[] = {Role::auditor, Role::surveyor, Role::technician, Role::supervisor, Role::engineer};

bool is_control(char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7f; }

bool is_name(const std::string& name) {
  return !name.empty() && name.size() <= person_name_most && name.front() != ' ' && name.back() != ' ' &&
         name.front() != '-' && std::none_of(name.begin(), name.end(), is_control);
}

bool still_here(const Person& person) { return person.ended.empty(); }

Person* find(People& people, const std::string& name) {
  const auto found = std::find_if(people.list.begin(), people.list.end(),
                                  [&](const Person& p) { return p.name == name && still_here(p); });
  return found == people.list.end() ? nullptr : &*found;
}

json::object to_json(const Person& person) {
  json::array roles;
  for (const Role role : person.roles) roles.emplace_back(role_name(role));
  return {{"name", person.name}, {"roles", std::move(roles)}, {"since", person.since}, {"ended", person.ended},
          {"added_by", person.added_by}};
}

// Throws what Boost.JSON throws; `read_people` turns it into a value.
Person from_json(const json::object& entry) {
  Person person;
  person.name = entry.at("name").as_string().c_str();
  for (const json::value& role : entry.at("roles").as_array()) {
    const auto known = role_named(role.as_string());
    if (!known) throw std::runtime_error("unknown role '" + std::string(role.as_string()) + "'");
    person.roles.push_back(*known);
  }
  person.since = entry.at("since").as_string().c_str();
  person.ended = entry.at("ended").as_string().c_str();
  person.added_by = entry.at("added_by").as_string().c_str();
  if (!is_name(person.name) || person.roles.empty()) throw std::runtime_error("a person without name or role");
  return person;
}

}  // namespace

std::optional<Role> role_named(std::string_view text) {
  for (const Role role : all_roles)
    if (role_name(role) == text) return role;
  return std::nullopt;
}

std::string people_path(const std::string& station) { return station + "/people.json"; }

Result<People, std::string> read_people(const std::string& station) {
  const std::string path = people_path(station);
  if (!exists(path)) return People{};
  const auto text = read_whole_file(path, std::size_t{1} << 20);
  if (!text) return Failure{path + ": " + text.error()};
  try {
    const json::value file = json::parse(*text);
    People people;
    for (const json::value& entry : file.as_object().at("people").as_array())
      people.list.push_back(from_json(entry.as_object()));
    return people;
  } catch (const std::exception& problem) {
    return Failure{path + " is not a list of people: " + problem.what()};
  }
}

Result<bool, std::string> write_people(const std::string& station, const People& people) {
  json::array list;
  for (const Person& person : people.list) list.push_back(to_json(person));
  const json::object file{{"schema", "standfast-people-1"}, {"people", std::move(list)}};
  return replace_file(people_path(station), json::serialize(file) + "\n");
}

Result<People, std::string> with_added(People people, const Addition& addition) {
  if (!is_name(addition.name))
    return Failure{std::string("a name has 1 to 60 printable characters and begins with a letter")};
  if (people.list.size() >= most_people) return Failure{std::string("the list is full (1000 people)")};
  Person* known = find(people, addition.name);
  if (!known) {
    people.list.push_back({addition.name, {addition.role}, addition.now, "", addition.by});
    return people;
  }
  if (std::find(known->roles.begin(), known->roles.end(), addition.role) != known->roles.end())
    return Failure{addition.name + " already is " + std::string(role_name(addition.role))};
  known->roles.push_back(addition.role);
  return people;
}

Result<People, std::string> with_ended(People people, const std::string& name, const std::string& now) {
  Person* known = find(people, name);
  if (!known) return Failure{name + " is not on the list"};
  known->ended = now;
  return people;
}

bool has_engineer(const People& people) {
  return std::any_of(people.list.begin(), people.list.end(), [](const Person& p) {
    return still_here(p) && std::find(p.roles.begin(), p.roles.end(), Role::engineer) != p.roles.end();
  });
}

Result<PersonClaim, std::string> claim(const People& people, const std::string& name) {
  const auto is_meant = [&](const Person& p) { return p.name == name && still_here(p); };
  const auto found = std::find_if(people.list.begin(), people.list.end(), is_meant);
  if (found == people.list.end()) {
    std::vector<std::string_view> names;
    for (const Person& p : people.list)
      if (still_here(p)) names.push_back(p.name);
    const std::string near{nearest_word(name, names)};
    return Failure{"'" + name + "' is not on the station's list of people" +
                   (near.empty() ? std::string() : "; did you mean '" + near + "'?")};
  }
  const auto weight = [](Role role) { return std::find(std::begin(by_weight), std::end(by_weight), role); };
  return PersonClaim{name, *std::max_element(found->roles.begin(), found->roles.end(),
                                             [&](Role a, Role b) { return weight(a) < weight(b); })};
}

}  // namespace standfast
