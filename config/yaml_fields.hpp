// Typed reading of a YamlNode tree. Every reader says what is wrong, with the place, and gives none; a null node (a key
// that is not there, or was complained about before) gives none in silence, so that readers can be chained.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "config/nearest_word.hpp"
#include "config/units.hpp"
#include "config/yaml_reader.hpp"

namespace standfast {

// The keys of one mapping. Making it complains if the node is no mapping, and about each key that is not `known`.
class Fields {
 public:
  Fields(const YamlNode& node, std::string thing, std::span<const std::string_view> known, Complaints& complaints);

  // Null if the key is not there, or has nothing or something unreadable behind it.
  [[nodiscard]] const YamlNode* find(std::string_view key) const;
  // The same; complains if the key is not there.
  [[nodiscard]] const YamlNode* need(std::string_view key) const;
  // Is the key there, whatever stands behind it?
  [[nodiscard]] bool has(std::string_view key) const { return entry(key) != nullptr; }
  [[nodiscard]] Spot key_spot(std::string_view key) const;
  // Exactly one of these must be there; its place in the list. Complains otherwise.
  [[nodiscard]] std::optional<std::size_t> one_of(std::span<const std::string_view> keys) const;

  [[nodiscard]] bool is_map() const { return is_map_; }
  [[nodiscard]] const std::string& thing() const { return thing_; }  // "jack J1", for messages.
  [[nodiscard]] Spot spot() const { return node_.spot; }

 private:
  [[nodiscard]] const YamlEntry* entry(std::string_view key) const;

  const YamlNode& node_;
  std::string thing_;
  Complaints& complaints_;
  bool is_map_{false};
};

// A null node, or one without anything in it that can be read, is passed over by all of these.
const YamlNode* readable(const YamlNode* node, std::string_view expected, Complaints& complaints);

const std::vector<YamlNode>* read_list(const YamlNode* node, std::size_t least, std::size_t most, std::string_view expected,
                                       Complaints& complaints);
// 1 to `most` keys.
const std::vector<YamlEntry>* read_map(const YamlNode* node, std::size_t most, std::string_view expected,
                                       Complaints& complaints);
// One item, or a list of them.
std::vector<const YamlNode*> read_one_or_list(const YamlNode* node, std::size_t most, std::string_view expected,
                                              Complaints& complaints);

// The text of a scalar, quoted or not, as it stands.
const std::string* read_scalar(const YamlNode* node, std::string_view expected, Complaints& complaints);
// Printable text for people, 1 to `most` characters, not one that YAML reads as a number or as true.
std::optional<std::string> read_text(const YamlNode* node, int most, Complaints& complaints);
// Text for a wire: escapes such as \r may stand in it.
std::optional<std::string> read_wire_text(const YamlNode* node, Complaints& complaints);
std::optional<bool> read_true_false(const YamlNode* node, Complaints& complaints);
std::optional<double> read_number(const YamlNode* node, Complaints& complaints);
std::optional<int> read_whole(const YamlNode* node, int least, int most, Complaints& complaints);
std::optional<std::string> read_date(const YamlNode* node, Complaints& complaints);

// 1 to 24 letters, digits, `_`, `-`, the first a letter. Complains otherwise.
bool check_name(std::string_view name, Spot spot, Complaints& complaints);

// Things that people have named, at most so many: of each the name is looked at, then the rest read.
template <class ReadOne>
void read_named(const YamlNode* node, std::size_t most, std::string_view expected, Complaints& complaints, ReadOne read_one) {
  const auto* entries = read_map(node, most, expected, complaints);
  if (entries == nullptr) return;
  for (const YamlEntry& entry : *entries) {
    check_name(entry.key, entry.key_spot, complaints);
    read_one(entry);
  }
}

// Ends that belong to what is allowed. Either may be left out.
struct Within {
  std::optional<double> least, most;  // SI
  std::string_view text;              // "above 0", "0 to 100 %": for the message.
};
std::optional<double> read_amount(const YamlNode* node, Dimension wanted, Complaints& complaints, const Within& within = {});
std::optional<double> read_above_zero(const YamlNode* node, Dimension wanted, Complaints& complaints);
std::optional<Duration> read_duration(const YamlNode* node, Duration least, Duration most, Complaints& complaints);

// An amount of any dimension; which one is told by its unit. A difference of temperature has no unit of its own: K is an
// absolute temperature here.
struct AnyAmount {
  Dimension dimension;
  double si{0};
};
std::optional<AnyAmount> read_any_amount(const YamlNode* node, Complaints& complaints);

template <class E>
struct Word {
  std::string_view text;
  E value;
};

std::optional<std::size_t> read_word_place(const YamlNode* node, std::span<const std::string_view> words,
                                           Complaints& complaints);

template <class E, std::size_t N>
std::optional<E> read_word(const YamlNode* node, const Word<E> (&words)[N], Complaints& complaints) {
  std::string_view texts[N];
  for (std::size_t i = 0; i < N; ++i) texts[i] = words[i].text;
  const auto place = read_word_place(node, texts, complaints);
  if (!place) return std::nullopt;
  return words[*place].value;
}

}  // namespace standfast
