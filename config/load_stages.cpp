#include "config/load_stages.hpp"

#include <algorithm>

#include "config/load_names.hpp"
#include "config/plan_draft.hpp"
#include "config/quoted.hpp"

namespace standfast {

namespace {

constexpr std::string_view file_keys[] = {"plan",   "column_load", "reading_set_window", "reset_reasons",
                                          "proofs", "marks",       "limit_sets",         "stages"};
constexpr std::string_view plan_keys[] = {"title", "revision", "engineer"};
constexpr std::string_view column_keys[] = {"low", "expected", "high"};
constexpr std::string_view proof_keys[] = {"watch", "pressure_loss", "travel_loss"};
constexpr std::string_view mark_keys[] = {"taken_in", "window"};
constexpr Dimension force{Base::force, Per::none}, ratio{Base::ratio, Per::none}, length{Base::length, Per::none};

void load_title(const YamlNode* node, PlanDraft& draft) {
  if (node == nullptr) return;
  const Fields fields{*node, "'plan'", plan_keys, draft.complaints};
  if (auto text = read_text(fields.need("title"), 60, draft.complaints)) draft.plan.title = *text;
  if (auto text = read_text(fields.need("revision"), 20, draft.complaints)) draft.plan.revision = *text;
  if (auto text = read_text(fields.need("engineer"), 40, draft.complaints)) draft.plan.engineer = *text;
}

void load_column(const YamlNode* node, PlanDraft& draft) {
  if (node == nullptr) return;
  const Fields fields{*node, "'column_load'", column_keys, draft.complaints};
  const auto low = read_above_zero(fields.need("low"), force, draft.complaints);
  const auto expected = read_above_zero(fields.need("expected"), force, draft.complaints);
  const auto high = read_above_zero(fields.need("high"), force, draft.complaints);
  if (!low || !expected || !high) return;
  draft.plan.column_low = Force::from_si(*low);
  draft.plan.column_expected = Force::from_si(*expected);
  draft.plan.column_high = Force::from_si(*high);
  if (*low <= *expected && *expected <= *high) return;
  draft.complaints.add("E-column-load", node->spot, "low, expected and high do not rise",
                       {{}, "three loads, none below the one before", {}});
}

// Looser than usual is the engineer's to decide, and is said to whoever checks the plan.
void warn_of_loose_proof(const YamlNode* node, const char* usual, Complaints& complaints) {
  complaints.add("W-proof", node->spot, "the drop of the permit is proved by less than usual", {node->text, usual, {}});
}

void load_proofs(const YamlNode* node, PlanDraft& draft) {
  Proofs& proofs = draft.plan.proofs;
  proofs.pressure_loss = Ratio::from_si(0.02);
  proofs.travel_loss = Length::from_si(0.05e-3);
  if (node == nullptr) return;
  Complaints& complaints = draft.complaints;
  const Fields fields{*node, "'proofs'", proof_keys, complaints};
  const Proofs usual = proofs;
  if (auto watch = read_duration(fields.find("watch"), seconds(1), hours(1), complaints)) proofs.watch = *watch;
  if (proofs.watch < usual.watch) warn_of_loose_proof(fields.find("watch"), "2 min or longer", complaints);
  const Within loss{grid_step(ratio), 0.1, "above 0, at most 10 %"};
  if (auto amount = read_amount(fields.find("pressure_loss"), ratio, complaints, loss))
    proofs.pressure_loss = Ratio::from_si(*amount);
  if (exceeds(amount(proofs.pressure_loss), amount(usual.pressure_loss)))
    warn_of_loose_proof(fields.find("pressure_loss"), "2 % or less", complaints);
  const Within drop{grid_step(length), 1e-3, "above 0, at most 1 mm"};
  if (auto amount = read_amount(fields.find("travel_loss"), length, complaints, drop))
    proofs.travel_loss = Length::from_si(*amount);
  if (exceeds(amount(proofs.travel_loss), amount(usual.travel_loss)))
    warn_of_loose_proof(fields.find("travel_loss"), "0.05 mm or less", complaints);
}

void load_reasons(const YamlNode* node, PlanDraft& draft) {
  const auto* items = read_list(node, 1, 20, "1 to 20 reasons", draft.complaints);
  if (items == nullptr) return;
  for (const YamlNode& item : *items) {
    const auto text = read_text(&item, 60, draft.complaints);
    if (!text) continue;
    auto& reasons = draft.plan.reset_reasons;
    if (std::find(reasons.begin(), reasons.end(), *text) != reasons.end()) {
      draft.complaints.add("E-listed-twice", item.spot, quoted(*text) + " is listed twice", {*text, "each once", {}});
    }
    reasons.push_back(*text);
  }
}

// The names of all stages, before any of them is read: a mark says in which it is taken.
std::vector<std::string> stage_names(const YamlNode* stages) {
  std::vector<std::string> names;
  if (stages == nullptr) return names;
  for (const YamlNode& stage : stages->items) {
    const auto name =
        std::find_if(stage.entries.begin(), stage.entries.end(), [](const YamlEntry& e) { return e.key == "stage"; });
    names.push_back(name == stage.entries.end() ? "" : name->value.text);
  }
  return names;
}

void load_marks(const YamlNode* node, const YamlNode* stages, PlanDraft& draft) {
  if (node == nullptr) return;
  const auto names = stage_names(stages);
  read_named(node, 64, "marks by name", draft.complaints, [&](const YamlEntry& entry) {
    const Fields fields{entry.value, "mark " + entry.key, mark_keys, draft.complaints};
    Mark mark{entry.key, StageId{0u}, seconds(10)};
    const Names known{"stage", {names.begin(), names.end()}};
    if (auto stage = read_reference(fields.need("taken_in"), known, draft.complaints)) mark.taken_in = StageId{*stage};
    if (auto window = read_duration(fields.need("window"), seconds(1), hours(1), draft.complaints))
      mark.window = *window;
    draft.plan.marks.push_back(std::move(mark));
  });
}

void load_limit_sets(const YamlNode* node, PlanDraft& draft) {
  read_named(node, 64, "limit sets by name", draft.complaints, [&](const YamlEntry& entry) {
    const YamlNode* limits = readable(&entry.value, "a list of limits", draft.complaints);
    draft.limit_sets.push_back({entry.key, entry.key_spot, read_limits(limits, draft), false});
  });
}

void load_parts(const YamlNode& root, PlanDraft& draft) {
  Complaints& complaints = draft.complaints;
  const Fields fields{root, "the plan", file_keys, complaints};
  load_title(fields.need("plan"), draft);
  load_column(fields.need("column_load"), draft);
  if (auto window = read_duration(fields.find("reading_set_window"), seconds(1), minutes(10), complaints))
    draft.plan.reading_set_window = *window;
  load_reasons(fields.find("reset_reasons"), draft);
  load_proofs(fields.find("proofs"), draft);
  const YamlNode* stages = fields.need("stages");
  load_marks(fields.find("marks"), stages, draft);
  load_limit_sets(fields.find("limit_sets"), draft);
  const auto* items = read_list(stages, 1, 200, "1 to 200 stages", complaints);
  if (items == nullptr) return;
  for (const YamlNode& item : *items) read_stage(item, draft);
  check_stages(draft);
}

Plan finished(PlanDraft& draft) {
  for (StageDraft& stage : draft.stages) {
    for (DraftLimit& limit : stage.limits) stage.stage.limits.push_back(std::move(limit.limit));
    draft.plan.stages.push_back(std::move(stage.stage));
  }
  return std::move(draft.plan);
}

}  // namespace

Loaded<Plan> load_stages(std::string_view bytes, std::string_view file_name, const Rig& rig) {
  Complaints complaints{file_name};
  PlanDraft draft{rig, complaints};
  if (const auto root = read_yaml(bytes, complaints)) load_parts(*root, draft);
  Loaded<Plan> loaded;
  if (complaints.errors() == 0) loaded.value = finished(draft);
  loaded.findings = complaints.take();
  return loaded;
}

}  // namespace standfast
