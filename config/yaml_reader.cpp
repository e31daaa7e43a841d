#include "config/yaml_reader.hpp"

#include <yaml-cpp/eventhandler.h>
#include <yaml-cpp/exceptions.h>
#include <yaml-cpp/parser.h>

#include <algorithm>
#include <map>
#include <sstream>

#include "config/plain_text_check.hpp"
#include "config/source_text.hpp"

namespace standfast {

namespace {

struct Refused {};  // Thrown through the parser to end the reading; what was wrong has been told.

// How many bytes the scalar that starts here takes in the file, on its first line. 0: a quotation that never ends.
std::size_t quotation_bytes(std::string_view bytes, std::size_t start) {
  const char quote = bytes[start];
  for (std::size_t i = start + 1; i < bytes.size(); ++i) {
    if (quote == '"' && bytes[i] == '\\') ++i;
    else if (bytes[i] != quote) continue;
    else if (quote == '\'' && i + 1 < bytes.size() && bytes[i + 1] == '\'') ++i;
    else return i + 1 - start;
  }
  return 0;
}

class TreeBuilder : public YAML::EventHandler {
 public:
  TreeBuilder(std::string_view bytes, Complaints& complaints)
      : bytes_{bytes}, source_{bytes}, complaints_{complaints} {}

  std::optional<YamlNode> root;

  Place place_of(const YAML::Mark& mark) const { return source_.place_of(offset_of(mark)); }

  void OnDocumentStart(const YAML::Mark& mark) override {
    if (!root) return;
    complaints_.add("E-second-document", {place_of(mark), 1}, "a second document begins here",
                    {{}, "one document", {}});
    throw Refused{};
  }
  void OnDocumentEnd() override {}

  void OnNull(const YAML::Mark& mark, YAML::anchor_t) override {
    count_node(mark);
    place(YamlNode{YamlNode::Kind::nothing, {}, false, {place_of(mark), 1}, {}, {}});
  }

  void OnAlias(const YAML::Mark& mark, YAML::anchor_t) override {
    count_node(mark);
    const Spot spot{place_of(mark), 1};
    complaints_.add("E-anchor", spot, "an alias repeats another part of the file", {{}, "the value itself", {}});
    place(unreadable(spot));
  }

  void OnAnchor(const YAML::Mark& mark, const std::string& name) override {
    complaints_.add("E-anchor", {place_of(mark), characters_in(name) + 1},
                    "an anchor marks a part of the file for repeating", {{}, "no anchor", {}});
  }

  void OnScalar(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                const std::string& value) override {
    count_node(mark);
    const std::size_t offset = offset_of(mark);
    YamlNode node{YamlNode::Kind::scalar, value, false, {place_of(mark), std::max(1, characters_in(value))}, {}, {}};
    const char first = offset < bytes_.size() ? bytes_[offset] : '\n';
    if (anchor != 0) return place(std::move(node));  // The place is the anchor's, which has been told.
    if (tag != "?" && tag != "!") return place(tagged(node.spot));
    if (tag == "!") node = quoted(std::move(node), offset, first);
    place(std::move(node));
  }

  void OnSequenceStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t,
                       YAML::EmitterStyle::value) override {
    open(YamlNode::Kind::list, mark, tag);
  }
  void OnSequenceEnd() override { close(); }
  void OnMapStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t, YAML::EmitterStyle::value) override {
    open(YamlNode::Kind::map, mark, tag);
  }
  void OnMapEnd() override { close(); }

 private:
  struct Open {  // A list or mapping whose end has not come yet.
    YamlNode node;
    std::optional<YamlNode> key;            // Of a mapping: read, its value has not come yet.
    std::map<std::string, Place> keys;      // Where each was first given.
    bool value_is_dropped{false};           // The key was no good; its value is read over.
  };

  std::size_t offset_of(const YAML::Mark& mark) const { return static_cast<std::size_t>(std::max(0, mark.pos)); }
  static YamlNode unreadable(Spot spot) { return {YamlNode::Kind::unreadable, {}, false, spot, {}, {}}; }

  YamlNode tagged(Spot spot) {
    complaints_.add("E-tag", {spot.place, 1}, "a tag tells what kind of value this is",
                    {{}, "the value without a tag", {}});
    return unreadable(spot);
  }

  YamlNode quoted(YamlNode node, std::size_t offset, char first) {
    if (first == '|' || first == '>') {
      complaints_.add("E-block-text", {node.spot.place, 1}, "a block of text",
                      {{}, "the text on one line, in quotes", {}});
      return unreadable(node.spot);
    }
    if (first != '"' && first != '\'') return tagged(node.spot);
    const std::size_t bytes = quotation_bytes(bytes_, offset);
    if (bytes == 0) {
      complaints_.add("E-yaml", node.spot, "a quotation that never ends", {{}, std::string{"a closing "} + first, {}});
      throw Refused{};
    }
    const std::string_view written = bytes_.substr(offset, bytes);
    node.spot.length = characters_in(written.substr(0, written.find('\n')));
    node.quoted = true;
    return node;
  }

  void count_node(const YAML::Mark& mark) {
    if (++nodes_ <= most_yaml_nodes) return;
    complaints_.add("E-too-many-values", {place_of(mark), 1},
                    "more than " + std::to_string(most_yaml_nodes) + " values", {{}, "a smaller file", {}});
    throw Refused{};
  }

  void open(YamlNode::Kind kind, const YAML::Mark& mark, const std::string& tag) {
    count_node(mark);
    const Spot spot{place_of(mark), 1};
    if (open_.size() >= most_yaml_depth) {
      complaints_.add("E-too-deep", spot, "nested deeper than " + std::to_string(most_yaml_depth) + " levels",
                      {{}, "a flat file", {}});
      throw Refused{};
    }
    if (tag != "?" && !tag.empty()) tagged(spot);
    open_.push_back({YamlNode{kind, {}, false, spot, {}, {}}, std::nullopt, {}, false});
  }

  void close() {
    YamlNode done = std::move(open_.back().node);
    open_.pop_back();
    place(std::move(done));
  }

  void place(YamlNode node) {
    if (open_.empty()) {
      root = std::move(node);
      return;
    }
    Open& around = open_.back();
    if (around.node.kind == YamlNode::Kind::list) around.node.items.push_back(std::move(node));
    else if (!around.key) place_key(around, std::move(node));
    else place_value(around, std::move(node));
  }

  void place_key(Open& around, YamlNode key) {
    around.value_is_dropped = !key_is_good(around, key);
    around.key = std::move(key);
  }

  bool key_is_good(Open& around, const YamlNode& key) {
    if (key.kind == YamlNode::Kind::unreadable) return false;
    if (key.kind != YamlNode::Kind::scalar) {
      complaints_.add("E-key-kind", key.spot, "a key that is not a word", {{}, "a word, then a colon", {}});
      return false;
    }
    if (key.text == "<<" && !key.quoted) {
      complaints_.add("E-merge-key", key.spot, "a merge key copies another mapping", {{}, "the keys themselves", {}});
      return false;
    }
    const auto [first, is_new] = around.keys.try_emplace(key.text, key.spot.place);
    if (is_new) return true;
    complaints_.add("E-key-twice", key.spot,
                    "'" + key.text + "' is given twice; first given at line " + std::to_string(first->second.line),
                    {{}, "each key once", {}});
    return false;
  }

  void place_value(Open& around, YamlNode value) {
    const YamlNode key = *std::exchange(around.key, std::nullopt);
    if (around.value_is_dropped) return;
    // Nothing behind a key has no place of its own: the parser names the next thing.
    if (value.kind == YamlNode::Kind::nothing) value.spot = key.spot;
    around.node.entries.push_back({key.text, key.spot, std::move(value)});
  }

  std::string_view bytes_;
  SourceText source_;
  Complaints& complaints_;
  std::vector<Open> open_;
  int nodes_{0};
};

void parse_all(YAML::Parser& parser, TreeBuilder& builder, Complaints& complaints) {
  try {
    while (parser.HandleNextDocument(builder)) {
    }
    if (!builder.root) {
      complaints.add("E-empty-file", {{1, 1}, 1}, "the file says nothing", {{}, "keys and values", {}});
    }
  } catch (const Refused&) {
    builder.root.reset();
  } catch (const YAML::Exception& error) {
    builder.root.reset();
    complaints.add("E-yaml", {builder.place_of(error.mark), 1}, "this is not YAML: " + error.msg,
                   {{}, "'key: value' lines, lists in [ ], mappings in { }, indented with spaces", {}});
  } catch (const std::exception& error) {
    builder.root.reset();
    complaints.add("E-yaml", {{1, 1}, 1}, std::string{"this is not YAML: "} + error.what(), {});
  }
}

}  // namespace

std::optional<YamlNode> read_yaml(std::string_view bytes, Complaints& complaints) {
  if (!check_plain_text(bytes, complaints)) return std::nullopt;
  TreeBuilder builder{bytes, complaints};
  std::istringstream stream{std::string{bytes}};
  YAML::Parser parser{stream};
  parse_all(parser, builder, complaints);
  return std::move(builder.root);
}

}  // namespace standfast
