// Reads a list of limits: what is watched, the bounds of each level, what gates it, what it says.
#include <algorithm>
#include <cctype>

#include "config/load_stages.hpp"
#include "config/plan_draft.hpp"
#include "config/quoted.hpp"

namespace standfast {

namespace {

constexpr std::string_view limit_keys[] = {"name", "of",          "since",    "from", "over",  "review", "hold",
                                           "stop", "clear_after", "deadband", "when", "guard", "say",    "reset_by"};
constexpr std::string_view level_names[level_count] = {"review", "hold", "stop"};
constexpr std::string_view level_keys[] = {"above", "below", "beyond", "persist"};
constexpr std::string_view gate_keys[] = {"of", "since", "from", "over", "above", "below"};
constexpr std::size_t most_limits = 200;

constexpr Word<bool> guard_words[] = {{"uncertainty", true}};
// The table of who may reset may be made stricter, never looser.
constexpr Word<Role> reset_words[] = {{"engineer", Role::engineer}};

Dimension difference_of(Dimension d) {
  return d.base == Base::temperature ? Dimension{Base::temperature_difference, d.per} : d;
}

// `beyond` is a distance: a plain amount, or a percentage, never below zero.
void read_beyond(const YamlNode* node, const QuantityRef& of, LevelBound& level, Complaints& complaints) {
  const auto bound = read_bound(node, of, complaints);
  if (!bound) return;
  const bool negative = bound->constant < 0 || std::any_of(bound->terms.begin(), bound->terms.end(),
                                                           [](const Term& t) { return t.factor < 0; });
  if (negative) {
    complaints.add("E-amount-range", node->spot, "'beyond' is a distance to both sides",
                   {node->text, "an amount that is not below 0", {}});
    return;
  }
  level.above = bound;
  level.below = negated(*bound);
}

void check_persist(const YamlNode* node, Duration persist, bool is_stop, Complaints& complaints) {
  if (!is_stop || persist <= seconds(2)) return;
  complaints.add(persist > seconds(10) ? "E-persist" : "W-persist", node->spot, "a stop that waits " + node->text,
                 {node->text, "at most 2 s, and never above 10 s", {}});
}

std::optional<LevelBound> read_level(const YamlNode& node, std::size_t number, const QuantityRef& of,
                                     Complaints& complaints) {
  const bool is_stop = number + 1 == level_count;
  const Fields fields{node, "'" + std::string{level_names[number]} + "'", level_keys, complaints};
  if (!fields.is_map()) return std::nullopt;
  LevelBound level;
  level.persist = is_stop ? milliseconds(500) : seconds(1);
  const YamlNode* persist = fields.find("persist");
  if (auto time = read_duration(persist, Duration{}, hours(1), complaints)) {
    level.persist = *time;
    check_persist(persist, *time, is_stop, complaints);
  }
  if (fields.has("beyond") && (fields.has("above") || fields.has("below"))) {
    complaints.add("E-beyond", fields.key_spot("beyond"), "'beyond' stands beside 'above' or 'below'",
                   {{}, "'beyond' alone for both sides, or 'above' and 'below'", {}});
    return std::nullopt;
  }
  if (!fields.has("above") && !fields.has("below") && !fields.has("beyond")) {
    complaints.add("E-one-of", fields.spot(), fields.thing() + " has none of above, below or beyond",
                   {{}, "at least one bound", {}});
    return std::nullopt;
  }
  level.above = read_bound(fields.find("above"), of, complaints);
  level.below = read_bound(fields.find("below"), of, complaints);
  read_beyond(fields.find("beyond"), of, level, complaints);
  return level;
}

// One word of a text, without regard to case.
bool has_word(std::string_view text, std::string_view word) {
  const auto letter = [](char c) { return std::isalpha(static_cast<unsigned char>(c)) != 0; };
  const auto same = [](char a, char b) { return std::tolower(static_cast<unsigned char>(a)) == b; };
  for (std::size_t i = 0; i + word.size() <= text.size(); ++i) {
    const bool begins = i == 0 || !letter(text[i - 1]);
    const bool ends = i + word.size() == text.size() || !letter(text[i + word.size()]);
    if (begins && ends &&
        std::equal(word.begin(), word.end(), text.begin() + static_cast<long>(i),
                   [&](char a, char b) { return same(b, a); }))
      return true;
  }
  return false;
}

class LimitReader {
 public:
  LimitReader(const YamlNode& node, PlanDraft& draft)
      : node_{node},
        draft_{draft},
        complaints_{draft.complaints},
        fields_{node, "the limit", limit_keys, draft.complaints} {}

  // One limit for each thing a star stands for; all of them carry the same bounds, each with its own references.
  std::vector<DraftLimit> read() {
    std::vector<DraftLimit> limits;
    if (!fields_.is_map()) return limits;
    check_levels();
    auto quantities = read_quantities(fields_, draft_);
    if (quantities.empty()) return limits;
    const auto name = read_text(fields_.find("name"), 40, complaints_);
    for (const QuantityRef& of : quantities) limits.push_back(read_one(of, name, quantities.size() > 1));
    return limits;
  }

 private:
  void check_levels() {
    if (!fields_.has("review") && !fields_.has("hold") && !fields_.has("stop")) {
      complaints_.add("E-one-of", node_.spot, "a limit without any of review, hold or stop",
                      {{}, "at least one level", {}});
    }
    if (!fields_.has("when") || !fields_.has("stop")) return;
    complaints_.add("E-stop-gated", fields_.key_spot("when"), "a limit with a stop stands behind 'when'",
                    {{}, "a stop that always counts; a second limit for what is gated", {}});
  }

  DraftLimit read_one(const QuantityRef& of, const std::optional<std::string>& name, bool several) {
    DraftLimit draft{{}, node_.spot, {}};
    Limit& limit = draft.limit;
    limit.of = of;
    limit.place = node_.spot.place;
    const std::string meant = quantity_name(of, draft_.rig, draft_.plan);
    limit.name = !name ? meant : several ? *name + ", " + meant : *name;
    for (std::size_t i = 0; i < level_count; ++i) {
      const YamlNode* level = fields_.find(level_names[i]);
      if (level == nullptr) continue;
      draft.level_spots[i] = fields_.key_spot(level_names[i]);
      level_of(limit, i) = read_level(*level, i, of, complaints_);
    }
    if (auto time = read_duration(fields_.find("clear_after"), Duration{}, hours(24), complaints_))
      limit.clear_after = *time;
    limit.deadband = read_amount(fields_.find("deadband"), difference_of(of.dimension), complaints_,
                                 {0.0, std::nullopt, "not below 0"})
                         .value_or(0);
    limit.guard_uncertainty = read_word(fields_.find("guard"), guard_words, complaints_).value_or(false);
    limit.reset_by = read_word(fields_.find("reset_by"), reset_words, complaints_);
    if (auto say = read_say(fields_.find("say"), complaints_)) limit.say = *say;
    if (const YamlNode* when = fields_.find("when")) read_gate(*when, limit);
    return draft;
  }

  static std::optional<LevelBound>& level_of(Limit& limit, std::size_t number) {
    return number == 0 ? limit.review : number == 1 ? limit.hold : limit.stop;
  }

  void read_gate(const YamlNode& node, Limit& limit) {
    const Fields fields{node, "'when'", gate_keys, complaints_};
    if (!fields.is_map()) return;
    const auto quantities = read_quantities(fields, draft_);
    if (quantities.size() > 1) {
      complaints_.add("E-wildcard", node.spot, "a gate asks about one quantity", {{}, "a name without a star", {}});
    }
    if (!fields.has("above") && !fields.has("below")) {
      complaints_.add("E-one-of", node.spot, "'when' has none of above or below", {{}, "at least one bound", {}});
    }
    if (quantities.size() != 1) return;
    limit.when = Gate{quantities.front(), read_bound(fields.find("above"), quantities.front(), complaints_),
                      read_bound(fields.find("below"), quantities.front(), complaints_)};
  }

  const YamlNode& node_;
  PlanDraft& draft_;
  Complaints& complaints_;
  Fields fields_;
};

}  // namespace

std::optional<std::string> read_say(const YamlNode* node, Complaints& complaints) {
  const auto text = read_text(node, 60, complaints);
  if (!text) return text;
  for (std::string_view word : {"safe", "ok", "release", "emergency", "auto", "live load", "zero", "normal", "dump"}) {
    if (!has_word(*text, word)) continue;
    complaints.add("W-say", node->spot, "the line says " + quoted(word),
                   {*text, "what to do, in words that cannot be taken for letting the load go", {}});
  }
  return text;
}

std::vector<DraftLimit> read_limits(const YamlNode* node, PlanDraft& draft) {
  std::vector<DraftLimit> limits;
  const auto* items = read_list(node, 1, most_limits, "1 to 200 limits", draft.complaints);
  if (items == nullptr) return limits;
  for (const YamlNode& item : *items) {
    for (DraftLimit& limit : LimitReader{item, draft}.read()) limits.push_back(std::move(limit));
    if (limits.size() > most_limits_of_a_stage) break;  // Told by the stage that has them.
  }
  return limits;
}

}  // namespace standfast
