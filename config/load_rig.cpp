#include "config/load_rig.hpp"

#include <array>

#include "config/quoted.hpp"
#include "config/rig_draft.hpp"
#include "config/unit_table.hpp"

namespace standfast {

namespace {

constexpr std::string_view rig_keys[] = {"rig", "simulated", "display_units", "buses", "channels", "jacks", "points",
                                         "groups", "circuits", "inputs", "output_module"};

constexpr Word<Base> dimension_words[] = {{"force", Base::force},
                                          {"pressure", Base::pressure},
                                          {"length", Base::length},
                                          {"area", Base::area},
                                          {"temperature", Base::temperature},
                                          {"angle", Base::angle},
                                          {"stiffness", Base::stiffness},
                                          {"moment", Base::moment}};

constexpr auto dimension_texts = [] {
  std::array<std::string_view, std::size(dimension_words)> texts{};
  for (std::size_t i = 0; i < texts.size(); ++i) texts[i] = dimension_words[i].text;
  return texts;
}();

std::optional<std::string> read_unit(const YamlNode* node, Dimension dimension, Complaints& complaints) {
  const std::vector<std::string> known = unit_spellings(dimension);
  const std::vector<std::string_view> words{known.begin(), known.end()};
  const auto place = read_word_place(node, words, complaints);
  if (!place) return std::nullopt;
  return known[*place];
}

void load_display_units(const YamlNode* node, RigDraft& draft) {
  if (node == nullptr) return;
  const Fields fields{*node, "display_units", dimension_texts, draft.complaints};
  for (const Word<Base>& word : dimension_words) {
    const Dimension dimension{word.value, Per::none};
    if (auto unit = read_unit(fields.find(word.text), dimension, draft.complaints)) {
      draft.rig.display_units.push_back({dimension, *unit});
    }
  }
}

void load_parts(const YamlNode& root, RigDraft& draft) {
  const Fields fields{root, "the rig", rig_keys, draft.complaints};
  if (auto title = read_text(fields.need("rig"), 60, draft.complaints)) draft.rig.title = *title;
  draft.rig.simulated = read_true_false(fields.find("simulated"), draft.complaints).value_or(false);
  load_display_units(fields.find("display_units"), draft);
  load_buses(fields.find("buses"), draft);
  load_channels(fields.need("channels"), draft);
  load_jacks(fields.find("jacks"), draft);
  load_points(fields.find("points"), draft);
  load_groups(fields.find("groups"), draft);
  load_circuits(fields.find("circuits"), draft);
  load_inputs(fields.find("inputs"), draft);
  load_output_module(fields.find("output_module"), draft);
  if (fields.is_map() && !fields.has("output_module")) {
    draft.complaints.add("W-no-outputs", root.spot, "the rig has no output module", {{}, "a key 'output_module'", {}});
  }
  check_rig(draft);
}

}  // namespace

Loaded<Rig> load_rig(std::string_view bytes, std::string_view file_name) {
  Complaints complaints{file_name};
  RigDraft draft{{}, complaints};
  if (const auto root = read_yaml(bytes, complaints)) load_parts(*root, draft);
  Loaded<Rig> loaded;
  if (complaints.errors() == 0) loaded.value = std::move(draft.rig);
  loaded.findings = complaints.take();
  return loaded;
}

}  // namespace standfast
