// Reads what a limit watches: a quantity of the dictionary, its subjects, and since when or over what it is taken.
#include <algorithm>

#include "config/duration_text.hpp"
#include "config/load_names.hpp"
#include "config/plan_draft.hpp"
#include "config/quoted.hpp"

namespace standfast {

namespace {

std::vector<std::string_view> words_of(std::string_view text) {
  std::vector<std::string_view> words;
  while (true) {
    const std::size_t space = text.find(' ');
    words.push_back(text.substr(0, space));
    if (space == std::string_view::npos) return words;
    text.remove_prefix(space + 1);
  }
}

std::size_t words_in(std::string_view name) {
  return 1 + static_cast<std::size_t>(std::count(name.begin(), name.end(), ' '));
}

bool starts_with_name(std::string_view text, std::string_view name) {
  return text == name || (text.starts_with(name) && text[name.size()] == ' ');
}

// The longest name that fits: `load total` is not the load of a jack called total.
const QuantityEntry* find_entry(std::string_view text) {
  const QuantityEntry* found = nullptr;
  for (const QuantityEntry& entry : quantity_entries) {
    if (starts_with_name(text, entry.name) && (found == nullptr || entry.name.size() > found->name.size()))
      found = &entry;
  }
  return found;
}

// Of all names, those of several words too, the nearest to as many words at the beginning of the text.
std::string_view nearest_quantity(std::string_view text) {
  for (const std::size_t count : {2u, 1u}) {
    std::size_t end = text.find(' ');
    if (count == 2 && end != std::string_view::npos) end = text.find(' ', end + 1);
    std::vector<std::string_view> names;
    for (const QuantityEntry& entry : quantity_entries)
      if (words_in(entry.name) == count || text.find(' ') == std::string_view::npos) names.push_back(entry.name);
    if (const std::string_view near = nearest_word(text.substr(0, end), names); !near.empty()) return near;
  }
  return {};
}

Names subjects_of(Argument argument, const Rig& rig) {
  switch (argument) {
    case Argument::none: return {"subject", {}};
    case Argument::jack: return {"jack", names_of(rig.jacks)};
    case Argument::circuit: return {"circuit", names_of(rig.circuits)};
    case Argument::group: return {"group", names_of(rig.groups)};
    case Argument::point: return {"point", names_of(rig.points)};
    case Argument::channel: return {"channel", names_of(rig.channels)};
  }
  return {};
}

// Why this subject has no such quantity; empty if it has.
std::string why_not(QuantityKind kind, std::size_t subject, const Rig& rig) {
  switch (kind) {
    case QuantityKind::travel: case QuantityKind::travel_left: case QuantityKind::predicted_departure:
    case QuantityKind::stiffness_ratio:
      return rig.jacks[subject].stroke_channel ? ""
                                               : "jack " + rig.jacks[subject].name + " has no channel for its stroke";
    case QuantityKind::tilt:
      return rig.points[subject].at ? "" : "point " + rig.points[subject].name + " has no position 'at'";
    case QuantityKind::agreement:
      return rig.points[subject].gauges.size() > 1 ? "" : "point " + rig.points[subject].name + " has one gauge only";
    case QuantityKind::pressure_spread:
      return rig.circuits[subject].jacks.size() > 1 ? "" : "circuit " + rig.circuits[subject].name + " has one jack only";
    case QuantityKind::supply:
      return rig.circuits[subject].supply ? "" : "circuit " + rig.circuits[subject].name + " states no channel for its supply";
    case QuantityKind::temperature: case QuantityKind::temperature_change:
      return rig.channels[subject].dimension.base == Base::temperature
                 ? "" : "channel " + rig.channels[subject].name + " measures no temperature";
    case QuantityKind::pressure:
    case QuantityKind::load:
    case QuantityKind::circuit_load:
    case QuantityKind::group_load:
    case QuantityKind::total_load:
    case QuantityKind::share:
    case QuantityKind::transferred:
    case QuantityKind::movement:
    case QuantityKind::differential: case QuantityKind::warp: case QuantityKind::load_lost: case QuantityKind::creep:
    case QuantityKind::channel:
      return "";
  }
  return "";
}

class QuantityReader {
 public:
  QuantityReader(const Fields& fields, PlanDraft& draft)
      : fields_{fields}, draft_{draft}, complaints_{draft.complaints} {}

  std::vector<QuantityRef> read() {
    const int errors_before = complaints_.errors();
    node_ = fields_.need("of");
    const std::string* text = read_scalar(node_, "a quantity and its subject, as in 'movement HEAD'", complaints_);
    if (text == nullptr) return {};
    std::string_view rest = *text;
    const bool rate = starts_with_name(rest, "rate");
    if (rate) rest.remove_prefix(std::min(rest.size(), std::string_view{"rate "}.size()));
    entry_ = find_entry(rest);
    if (entry_ == nullptr) return unknown(rest);
    auto quantities = expand(rest);
    for (QuantityRef& of : quantities) of.rate = rate;
    read_moment(quantities);
    read_from(quantities);
    read_over(quantities, rate);
    for (QuantityRef& of : quantities) of.dimension = dimension_of(of);
    return complaints_.errors() == errors_before ? quantities : std::vector<QuantityRef>{};
  }

 private:
  std::vector<QuantityRef> unknown(std::string_view text) {
    complain("E-quantity", quoted(text) + " is not a quantity that is known",
             "one of the dictionary, as in 'movement HEAD', 'load J*', 'load total', 'rate movement HEAD'",
             std::string{nearest_quantity(text)});
    return {};
  }

  // Behind the name of one quantity stands no subject but what may be a slip in a longer name: `travel lft J1`.
  bool is_slip(const std::vector<std::string_view>& words, std::string_view text, const Names& names) const {
    if (words.empty() || has_star(words.front())) return false;
    if (std::find(names.known.begin(), names.known.end(), words.front()) != names.known.end()) return false;
    const std::string_view near = nearest_quantity(text);
    return words_in(near) > words_in(entry_->name) && starts_with_name(near, entry_->name);
  }

  void complain(std::string_view code, std::string message, std::string expected, std::string nearest = {}) {
    complaints_.add(code, node_->spot, std::move(message), {node_->text, std::move(expected), std::move(nearest)});
  }

  // One quantity for each thing that a star stands for.
  std::vector<QuantityRef> expand(std::string_view text) {
    auto words = words_of(text);
    words.erase(words.begin(), words.begin() + static_cast<long>(words_in(entry_->name)));
    const Names names = subjects_of(entry_->argument, draft_.rig);
    if (is_slip(words, text, names)) return unknown(text);
    const bool one_each = entry_->most == 1;
    std::vector<std::size_t> subjects;
    for (std::string_view word : words) {
      if (has_star(word) && (one_each || entry_->most > entry_->least)) {
        for (std::size_t place : look_up_all(word, node_->spot, names, complaints_)) subjects.push_back(place);
      } else if (const auto place = look_up(word, node_->spot, names, complaints_)) {
        subjects.push_back(*place);
      } else {
        return {};
      }
    }
    if (!count_is_right(one_each ? words.size() : subjects.size(), subjects)) return {};
    std::vector<QuantityRef> quantities;
    for (std::size_t i = 0; i < (one_each ? subjects.size() : 1); ++i) {
      QuantityRef of;
      of.kind = entry_->kind;
      if (one_each) of.subjects = {static_cast<std::uint16_t>(subjects[i])};
      else for (std::size_t s : subjects) of.subjects.push_back(static_cast<std::uint16_t>(s));
      quantities.push_back(std::move(of));
    }
    return quantities;
  }

  bool count_is_right(std::size_t count, const std::vector<std::size_t>& subjects) {
    if (count < static_cast<std::size_t>(entry_->least) || count > static_cast<std::size_t>(entry_->most)) {
      const std::string wanted = entry_->least == entry_->most
                                     ? std::to_string(entry_->least)
                                     : std::to_string(entry_->least) + " to " + std::to_string(entry_->most);
      complain("E-quantity",
               quoted(entry_->name) + " takes " + wanted + " name" + (wanted == "1" ? "" : "s") + ", not " +
                   std::to_string(count),
               "as in '" + std::string{entry_->example} + "'");
      return false;
    }
    for (std::size_t i = 0; i < subjects.size(); ++i) {
      if (std::find(subjects.begin(), subjects.begin() + static_cast<long>(i), subjects[i]) !=
          subjects.begin() + static_cast<long>(i)) {
        complain("E-quantity", "the same name twice in one quantity", "different names");
        return false;
      }
      if (const std::string why = why_not(entry_->kind, subjects[i], draft_.rig); !why.empty()) {
        complain("E-quantity", why, "a subject that has this quantity");
        return false;
      }
    }
    return true;
  }

  void read_moment(std::vector<QuantityRef>& quantities) {
    const YamlNode* node = fields_.find("since");
    const bool rate = !quantities.empty() && quantities.front().rate;
    if (node == nullptr) {
      if (entry_->takes_since && !rate && !fields_.has("since")) {
        complain("E-since", quoted(entry_->name) + " needs to be told since when",
                 "'since: baseline', 'stage start', 'lock-off' or 'mark NAME'");
      }
      return;
    }
    if (!entry_->takes_since || rate) {
      complaints_.add("E-since", node->spot, rate ? "a rate is the same since whenever"
                                                  : quoted(entry_->name) + " is not measured since a moment",
                      {node->text, "no 'since'", {}});
      return;
    }
    const std::string* text = read_scalar(node, "baseline, stage start, lock-off or mark NAME", complaints_);
    if (text == nullptr) return;
    if (text->starts_with("mark ")) return read_mark(*node, quantities);
    constexpr Word<Since> words[] = {
        {"baseline", Since::baseline}, {"stage start", Since::stage_start}, {"lock-off", Since::lock_off}};
    const auto since = read_word(node, words, complaints_);
    for (QuantityRef& of : quantities) of.since = since.value_or(Since::baseline);
  }

  void read_mark(const YamlNode& node, std::vector<QuantityRef>& quantities) {
    const std::string_view name = std::string_view{node.text}.substr(5);
    const auto place = look_up(name, node.spot, {"mark", names_of(draft_.plan.marks)}, complaints_);
    if (!place) return;
    for (QuantityRef& of : quantities) {
      of.since = Since::mark;
      of.mark = static_cast<std::uint16_t>(*place);
    }
  }

  void read_from(std::vector<QuantityRef>& quantities) {
    const YamlNode* node = fields_.find("from");
    if (node == nullptr) return;
    if (entry_->kind != QuantityKind::share) {
      complaints_.add("E-since", node->spot, "only a share is measured from what was planned",
                      {node->text, "no 'from'", {}});
      return;
    }
    constexpr Word<bool> words[] = {{"planned", true}};
    const bool planned = read_word(node, words, complaints_).value_or(false);
    for (QuantityRef& of : quantities) of.from_planned = planned;
  }

  void read_over(std::vector<QuantityRef>& quantities, bool rate) {
    const YamlNode* node = fields_.find("over");
    const bool is_slope = entry_->kind == QuantityKind::creep || entry_->kind == QuantityKind::stiffness_ratio;
    if (rate && is_slope)
      complain("E-rate", quoted(entry_->name) + " is a slope itself, and no series over time that could have a rate",
               "'of: " + std::string{entry_->example} + "'");
    if (rate && !fields_.has("over"))
      complain("E-over", "a rate needs the window it is taken over", "a key 'over', as in 'over: 30 s'");
    if (!rate && fields_.has("over")) {
      complaints_.add("E-over", fields_.key_spot("over"), "only a rate is taken over a window",
                      {{}, "'of: rate ...', or no 'over'", {}});
    }
    const auto over = read_duration(node, seconds(1), hours(24), complaints_);
    for (QuantityRef& of : quantities) of.over = over.value_or(Duration{});
  }

  Dimension dimension_of(const QuantityRef& of) const {
    Dimension dimension{};
    if (entry_->base) dimension = {*entry_->base, Per::none};
    else if (!of.subjects.empty()) dimension = draft_.rig.channels[of.subjects.front()].dimension;
    if (of.kind == QuantityKind::creep) dimension.per = Per::decade;
    if (of.rate && dimension.per == Per::none) dimension.per = Per::second;
    return dimension;
  }

  const Fields& fields_;
  PlanDraft& draft_;
  Complaints& complaints_;
  const YamlNode* node_{nullptr};
  const QuantityEntry* entry_{nullptr};
};

std::string since_name(const QuantityRef& of, const Plan& plan) {
  switch (of.since) {
    case Since::baseline: return " since baseline";
    case Since::stage_start: return " since stage start";
    case Since::lock_off: return " since lock-off";
    case Since::mark: return " since mark " + (of.mark < plan.marks.size() ? plan.marks[of.mark].name : "?");
  }
  return {};
}

}  // namespace

std::vector<QuantityRef> read_quantities(const Fields& fields, PlanDraft& draft) {
  return QuantityReader{fields, draft}.read();
}

std::string quantity_name(const QuantityRef& of, const Rig& rig, const Plan& plan) {
  const QuantityEntry& entry = entry_of(of.kind);
  const Names names = subjects_of(entry.argument, rig);
  std::string text = (of.rate ? "rate " : "") + std::string{entry.name};
  for (std::uint16_t subject : of.subjects) text += " " + std::string{names.known[subject]};
  if (of.from_planned) text += " from planned";
  if (entry.takes_since && !of.rate) text += since_name(of, plan);
  if (of.rate) text += " over " + duration_text(of.over);
  return text;
}

}  // namespace standfast
