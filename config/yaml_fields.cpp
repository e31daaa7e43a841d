#include "config/yaml_fields.hpp"

#include <algorithm>

#include "config/ensure.hpp"
#include "config/quoted.hpp"

namespace standfast {

namespace {

std::string_view kind_name(YamlNode::Kind kind) {
  switch (kind) {
    case YamlNode::Kind::nothing: return "nothing";
    case YamlNode::Kind::scalar: return "a single value";
    case YamlNode::Kind::list: return "a list";
    case YamlNode::Kind::map: return "a mapping";
    case YamlNode::Kind::unreadable: return "something unreadable";
  }
  return {};
}

std::string listed(std::span<const std::string_view> words) {
  std::string text;
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (i > 0) text += i + 1 == words.size() ? " or " : ", ";
    text += words[i];
  }
  return text;
}

const YamlNode* of_kind(const YamlNode* node, YamlNode::Kind kind, std::string_view expected, Complaints& complaints) {
  node = readable(node, expected, complaints);
  if (node == nullptr || node->kind == kind) return node;
  complaints.add("E-type", node->spot,
                 std::string{kind_name(node->kind)} + " where " + std::string{kind_name(kind)} + " belongs",
                 {std::string{kind_name(node->kind)}, std::string{expected}, {}});
  return nullptr;
}

}  // namespace

Fields::Fields(const YamlNode& node, std::string thing, std::span<const std::string_view> known, Complaints& complaints)
    : node_{node}, thing_{std::move(thing)}, complaints_{complaints} {
  is_map_ = of_kind(&node, YamlNode::Kind::map, "a mapping with the keys " + listed(known), complaints) != nullptr;
  if (!is_map_) return;
  for (const YamlEntry& e : node.entries) {
    if (std::find(known.begin(), known.end(), e.key) != known.end()) continue;
    const bool comma = !e.key.empty() && e.key.front() >= '0' && e.key.front() <= '9';
    complaints.add("E-key-unknown", e.key_spot, thing_ + " has no key " + quoted(e.key),
                   {e.key, comma ? "a decimal point: inside { } a comma ends the value" : listed(known),
                    std::string{nearest_word(e.key, known)}});
  }
}

const YamlEntry* Fields::entry(std::string_view key) const {
  if (!is_map_) return nullptr;
  for (const YamlEntry& e : node_.entries) {
    if (e.key == key) return &e;
  }
  return nullptr;
}

const YamlNode* Fields::find(std::string_view key) const {
  const YamlEntry* e = entry(key);
  return e == nullptr ? nullptr : readable(&e->value, "a value behind '" + std::string{key} + "'", complaints_);
}

const YamlNode* Fields::need(std::string_view key) const {
  if (is_map_ && entry(key) == nullptr) {
    complaints_.add("E-key-missing", node_.spot, thing_ + " has no '" + std::string{key} + "'",
                    {{}, "a key '" + std::string{key} + "'", {}});
  }
  return find(key);
}

Spot Fields::key_spot(std::string_view key) const {
  const YamlEntry* e = entry(key);
  return e == nullptr ? node_.spot : e->key_spot;
}

std::optional<std::size_t> Fields::one_of(std::span<const std::string_view> keys) const {
  if (!is_map_) return std::nullopt;
  std::optional<std::size_t> found;
  for (std::size_t i = 0; i < keys.size(); ++i) {
    if (!has(keys[i])) continue;
    if (found) {
      complaints_.add("E-one-of", key_spot(keys[i]),
                      thing_ + " has both '" + std::string{keys[*found]} + "' and '" + std::string{keys[i]} + "'",
                      {{}, "one of " + listed(keys), {}});
      return std::nullopt;
    }
    found = i;
  }
  if (!found) {
    complaints_.add("E-one-of", node_.spot, thing_ + " has none of " + listed(keys),
                    {{}, "one of " + listed(keys), {}});
  }
  return found;
}

const YamlNode* readable(const YamlNode* node, std::string_view expected, Complaints& complaints) {
  if (node == nullptr || node->kind == YamlNode::Kind::unreadable) return nullptr;
  if (node->kind != YamlNode::Kind::nothing) return node;
  complaints.add("E-value-missing", node->spot, "nothing stands here", {{}, std::string{expected}, {}});
  return nullptr;
}

const std::vector<YamlNode>* read_list(const YamlNode* node, std::size_t least, std::size_t most,
                                       std::string_view expected, Complaints& complaints) {
  node = of_kind(node, YamlNode::Kind::list, expected, complaints);
  if (node == nullptr) return nullptr;
  if (node->items.size() >= least && node->items.size() <= most) return &node->items;
  complaints.add("E-list-length", node->spot, "a list of " + std::to_string(node->items.size()),
                 {std::to_string(node->items.size()), std::string{expected}, {}});
  return nullptr;
}

const std::vector<YamlEntry>* read_map(const YamlNode* node, std::size_t most, std::string_view expected,
                                       Complaints& complaints) {
  node = of_kind(node, YamlNode::Kind::map, expected, complaints);
  if (node == nullptr) return nullptr;
  const std::size_t size = node->entries.size();
  if (size >= 1 && size <= most) return &node->entries;
  complaints.add("E-list-length", node->spot, "a mapping of " + std::to_string(size),
                 {std::to_string(size), "1 to " + std::to_string(most) + " " + std::string{expected}, {}});
  return nullptr;
}

std::vector<const YamlNode*> read_one_or_list(const YamlNode* node, std::size_t most, std::string_view expected,
                                              Complaints& complaints) {
  node = readable(node, expected, complaints);
  if (node == nullptr) return {};
  if (node->kind != YamlNode::Kind::list) return {node};
  std::vector<const YamlNode*> items;
  if (const auto* list = read_list(node, 1, most, expected, complaints)) {
    for (const YamlNode& item : *list) items.push_back(&item);
  }
  return items;
}

const std::string* read_scalar(const YamlNode* node, std::string_view expected, Complaints& complaints) {
  node = of_kind(node, YamlNode::Kind::scalar, expected, complaints);
  return node == nullptr ? nullptr : &node->text;
}

std::optional<std::size_t> read_word_place(const YamlNode* node, std::span<const std::string_view> words,
                                           Complaints& complaints) {
  const std::string* text = read_scalar(node, listed(words), complaints);
  if (text == nullptr) return std::nullopt;
  const auto found = std::find(words.begin(), words.end(), *text);
  if (found != words.end()) return static_cast<std::size_t>(found - words.begin());
  complaints.add("E-word", node->spot, quoted(*text) + " is not one of the words that can stand here",
                 {*text, listed(words), std::string{nearest_word(*text, words)}});
  return std::nullopt;
}

}  // namespace standfast
