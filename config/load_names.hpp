// Names to places: what a file refers to, with `*` for "all that fit".
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "config/yaml_fields.hpp"

namespace standfast {

template <class T>
std::vector<std::string_view> names_of(const std::vector<T>& things) {
  std::vector<std::string_view> names;
  for (const T& thing : things) names.push_back(thing.name);
  return names;
}

// `J*`, `*A`, `T*A`: at most one star, standing for any run of characters.
bool has_star(std::string_view pattern);
bool matches(std::string_view pattern, std::string_view name);

// What is looked up, for messages: "jack", "channel".
struct Names {
  std::string_view kind;
  std::vector<std::string_view> known;
};

// The place of one name. Complains where it is not known, or holds a star.
std::optional<std::size_t> look_up(std::string_view name, Spot spot, const Names& names, Complaints& complaints);
// The places a name or pattern stands for, ascending. Complains where there is none.
std::vector<std::size_t> look_up_all(std::string_view pattern, Spot spot, const Names& names, Complaints& complaints);

std::optional<std::size_t> read_reference(const YamlNode* node, const Names& names, Complaints& complaints);

enum class Star : std::uint8_t { refused, allowed };
// A list of names, or one; each thing at most once, in the order written.
std::vector<std::size_t> read_references(const YamlNode* node, const Names& names, Star star, Complaints& complaints);

}  // namespace standfast
