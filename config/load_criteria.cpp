// Reads what must be true before a stage or step may be proposed for approval.
#include "config/load_stages.hpp"
#include "config/plan_draft.hpp"

namespace standfast {

namespace {

constexpr std::string_view criterion_keys[] = {"name", "of", "since", "from", "over", "at_least", "at_most", "entered",
                                               "reading_sets", "proofs"};
constexpr std::string_view kind_keys[] = {"of", "entered", "reading_sets", "proofs"};
constexpr std::string_view quantity_only[] = {"since", "from", "over", "at_least", "at_most"};
constexpr Word<bool> all_words[] = {{"all", true}};
constexpr Word<bool> passed_words[] = {{"passed", true}};

void refuse_quantity_keys(const Fields& fields, Complaints& complaints) {
  for (std::string_view key : quantity_only) {
    if (!fields.has(key)) continue;
    complaints.add("E-kind-key", fields.key_spot(key), "'" + std::string{key} + "' belongs to a criterion with 'of'",
                   {});
  }
}

std::vector<Criterion> read_quantity_criteria(const Fields& fields, Criterion blank, PlanDraft& draft) {
  if (!fields.has("at_least") && !fields.has("at_most")) {
    draft.complaints.add("E-one-of", fields.spot(), "a criterion without any of at_least or at_most",
                         {{}, "at least one bound", {}});
  }
  const auto quantities = read_quantities(fields, draft);
  std::vector<Criterion> criteria;
  for (const QuantityRef& of : quantities) {
    Criterion criterion = blank;
    criterion.kind = Criterion::Kind::quantity;
    criterion.of = of;
    const std::string meant = quantity_name(of, draft.rig, draft.plan);
    criterion.name = blank.name.empty() ? meant : quantities.size() > 1 ? blank.name + ", " + meant : blank.name;
    criterion.above = read_bound(fields.find("at_most"), of, draft.complaints);
    criterion.below = read_bound(fields.find("at_least"), of, draft.complaints);
    criteria.push_back(std::move(criterion));
  }
  return criteria;
}

std::vector<Criterion> read_criterion(const YamlNode& node, PlanDraft& draft) {
  const Fields fields{node, "the criterion", criterion_keys, draft.complaints};
  const auto kind = fields.one_of(kind_keys);
  if (!kind) return {};
  Criterion criterion;
  criterion.place = node.spot.place;
  if (auto name = read_text(fields.find("name"), 40, draft.complaints)) criterion.name = *name;
  if (*kind == 0) return read_quantity_criteria(fields, std::move(criterion), draft);
  refuse_quantity_keys(fields, draft.complaints);
  std::string meant;
  if (*kind == 1) {
    criterion.kind = Criterion::Kind::entered;
    criterion.entered = read_text(fields.find("entered"), 40, draft.complaints).value_or("");
    meant = criterion.entered + " entered";
  } else if (*kind == 2) {
    criterion.kind = Criterion::Kind::reading_sets;
    (void)read_word(fields.find("reading_sets"), all_words, draft.complaints);
    meant = "all reading sets taken";
  } else {
    criterion.kind = Criterion::Kind::proofs;
    (void)read_word(fields.find("proofs"), passed_words, draft.complaints);
    meant = "proofs of the outputs passed";
  }
  if (criterion.name.empty()) criterion.name = meant;
  return {criterion};
}

}  // namespace

std::vector<Criterion> read_criteria(const YamlNode* node, PlanDraft& draft) {
  std::vector<Criterion> criteria;
  const auto* items = read_list(node, 1, 100, "1 to 100 criteria", draft.complaints);
  if (items == nullptr) return criteria;
  for (const YamlNode& item : *items) {
    if (criteria.size() > most_criteria_of_a_stage) {
      draft.complaints.add("E-list-length", node->spot, "more than 500 criteria in one stage",
                           {{}, "at most 500, each thing that a star stands for counted", {}});
      break;
    }
    for (Criterion& criterion : read_criterion(item, draft)) {
      for (const Criterion& other : criteria) {
        if (other.name != criterion.name) continue;
        draft.complaints.add("E-name-twice", item.spot, "two criteria are called '" + criterion.name + "'",
                             {criterion.name, "a 'name' for one of them", {}});
        break;
      }
      criteria.push_back(std::move(criterion));
    }
  }
  return criteria;
}

}  // namespace standfast
