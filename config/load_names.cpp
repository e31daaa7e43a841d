#include "config/load_names.hpp"

#include <algorithm>

#include "config/quoted.hpp"

namespace standfast {

namespace {

constexpr std::size_t most_references = 256;

std::string article_and(std::string_view kind) {
  const bool vowel = !kind.empty() && std::string_view{"aeiou"}.find(kind.front()) != std::string_view::npos;
  return (vowel ? "an " : "a ") + std::string{kind};
}

std::string those_known(const Names& names) {
  if (names.known.empty()) return "the file defines no " + std::string{names.kind};
  std::string text = article_and(names.kind) + ":";
  for (std::size_t i = 0; i < names.known.size() && i < 12; ++i)
    text += (i == 0 ? " " : ", ") + std::string{names.known[i]};
  return names.known.size() > 12 ? text + ", ..." : text;
}

}  // namespace

bool has_star(std::string_view pattern) { return pattern.find('*') != std::string_view::npos; }

bool matches(std::string_view pattern, std::string_view name) {
  const std::size_t star = pattern.find('*');
  if (star == std::string_view::npos) return pattern == name;
  const std::string_view front = pattern.substr(0, star), back = pattern.substr(star + 1);
  return name.size() >= front.size() + back.size() && name.starts_with(front) && name.ends_with(back);
}

std::optional<std::size_t> look_up(std::string_view name, Spot spot, const Names& names, Complaints& complaints) {
  const auto found = std::find(names.known.begin(), names.known.end(), name);
  if (found != names.known.end()) return static_cast<std::size_t>(found - names.known.begin());
  if (has_star(name)) {
    complaints.add("E-wildcard", spot,
                   quoted(name) + " may mean several, and one " + std::string{names.kind} + " belongs here",
                   {std::string{name}, those_known(names), {}});
    return std::nullopt;
  }
  complaints.add("E-reference", spot, "there is no " + std::string{names.kind} + " " + quoted(name),
                 {std::string{name}, those_known(names), std::string{nearest_word(name, names.known)}});
  return std::nullopt;
}

std::vector<std::size_t> look_up_all(std::string_view pattern, Spot spot, const Names& names, Complaints& complaints) {
  std::vector<std::size_t> places;
  if (!has_star(pattern)) {
    if (const auto place = look_up(pattern, spot, names, complaints)) places.push_back(*place);
    return places;
  }
  for (std::size_t i = 0; i < names.known.size(); ++i) {
    if (matches(pattern, names.known[i])) places.push_back(i);
  }
  if (places.empty()) {
    complaints.add("E-wildcard", spot, "no " + std::string{names.kind} + " fits " + quoted(pattern),
                   {std::string{pattern}, those_known(names), {}});
  }
  return places;
}

std::optional<std::size_t> read_reference(const YamlNode* node, const Names& names, Complaints& complaints) {
  const std::string* text = read_scalar(node, article_and(names.kind), complaints);
  return text == nullptr ? std::nullopt : look_up(*text, node->spot, names, complaints);
}

std::vector<std::size_t> read_references(const YamlNode* node, const Names& names, Star star, Complaints& complaints) {
  std::vector<std::size_t> places;
  const std::string expected = "at least one " + std::string{names.kind} + ", at most 256";
  for (const YamlNode* item : read_one_or_list(node, most_references, expected, complaints)) {
    const std::string* text = read_scalar(item, article_and(names.kind), complaints);
    if (text == nullptr) continue;
    std::vector<std::size_t> meant;
    if (star == Star::allowed) meant = look_up_all(*text, item->spot, names, complaints);
    else if (const auto one = look_up(*text, item->spot, names, complaints)) meant = {*one};
    for (std::size_t place : meant) {
      if (std::find(places.begin(), places.end(), place) == places.end()) {
        places.push_back(place);
        continue;
      }
      complaints.add("E-listed-twice", item->spot, quoted(names.known[place]) + " is listed twice",
                     {*text, "each once", {}});
    }
  }
  return places;
}

}  // namespace standfast
