// YAML bytes to a small tree of text with places. Strict: what a person could misread, or what another reader might read
// differently, is refused: anchors, aliases, tags, merge keys, duplicate keys, second documents, block texts, tabs.
// Every scalar stays text; what it means is decided by whoever knows which unit belongs there.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "config/complaints.hpp"

namespace standfast {

struct YamlEntry;

struct YamlNode {
  enum class Kind : unsigned char {
    nothing,     // `key:` with nothing behind it, or `null`
    scalar,
    list,
    map,
    unreadable,  // has been complained about; readers pass over it in silence
  };
  Kind kind{Kind::nothing};
  std::string text;    // scalar
  bool quoted{false};  // scalar
  Spot spot;
  std::vector<YamlNode> items;     // list
  std::vector<YamlEntry> entries;  // map; keys are unique, in file order
};

struct YamlEntry {
  std::string key;
  Spot key_spot;
  YamlNode value;
};

// Bounds of a file. Reaching one is a finding.
inline constexpr std::size_t most_yaml_bytes = 256 * 1024;
inline constexpr int most_yaml_depth = 32;
inline constexpr int most_yaml_nodes = 40'000;

// The root of the file's only document. None where the text is no YAML at all or hits a bound; what could be told is in
// `complaints`. Findings that leave the tree readable (a duplicate key, an anchor) do not stop the reading.
std::optional<YamlNode> read_yaml(std::string_view bytes, Complaints& complaints);

}  // namespace standfast
