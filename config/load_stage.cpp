// Reads one stage of the plan.
#include <algorithm>
#include <array>

#include "config/duration_text.hpp"
#include "config/load_names.hpp"
#include "config/load_stages.hpp"
#include "config/plan_draft.hpp"
#include "config/quoted.hpp"

namespace standfast {

namespace {

constexpr std::string_view stage_keys[] = {
    "stage",    "kind",      "jacks",          "steps", "observe", "limits",     "limit_sets", "proceed_when",
    "sign_off", "permit_by", "pressure_limit", "polls", "window",  "unattended", "what_to_do", "bad_reading"};
constexpr std::string_view step_keys[] = {"jacks", "steps", "observe"};
constexpr std::string_view unattended_keys[] = {"call_out_after"};
constexpr std::string_view advice_keys[] = {"hold", "stop"};
constexpr std::string_view poll_keys[] = {"every", "stale_after"};

// In the order of StageKind.
constexpr std::array<StageKindEntry, stage_kind_count> kinds{{
    {"commission", StepsWanted::none, false},
    {"baseline", StepsWanted::none, true},
    {"snug", StepsWanted::rising, false},
    {"rezero-travel", StepsWanted::none, false},
    {"raise", StepsWanted::rising, false},
    {"equalise", StepsWanted::optional, false},
    {"lock-off", StepsWanted::optional, false},
    {"pressure-down", StepsWanted::falling, false},
    {"lift-off-check", StepsWanted::none, false},
    {"watch", StepsWanted::none, true},
    {"cut", StepsWanted::none, false},
    {"after-removal", StepsWanted::none, true},
    {"transfer-back", StepsWanted::falling, false},
}};

constexpr Word<Role> signer_words[] = {{"supervisor", Role::supervisor}, {"engineer", Role::engineer}};
constexpr Word<bool> bad_reading_words[] = {{"hold", false}, {"stop", true}};

class StageReader {
 public:
  StageReader(const YamlNode& node, PlanDraft& draft)
      : node_{node},
        draft_{draft},
        complaints_{draft.complaints},
        fields_{node, title_of(node), stage_keys, draft.complaints} {}

  void read() {
    draft_stage_.spot = node_.spot;
    if (!fields_.is_map()) return draft_.stages.push_back(std::move(draft_stage_));
    Stage& stage = draft_stage_.stage;
    stage.place = node_.spot.place;
    if (auto name = read_text(fields_.need("stage"), 40, complaints_)) stage.name = *name;
    const auto kind = read_stage_kind(fields_.need("kind"), complaints_);
    if (kind) {
      stage.kind = *kind;
      draft_stage_.kind_known = true;
      check_keys_of_kind(*kind);
    }
    read_steps(fields_, draft_stage_, draft_);
    if (kind) check_steps_wanted(*kind);
    read_all_limits();
    stage.proceed_when = read_criteria(fields_.find("proceed_when"), draft_);
    read_people(stage);
    if (auto p = read_above_zero(fields_.find("pressure_limit"), {Base::pressure, Per::none}, complaints_))
      stage.pressure_limit = Pressure::from_si(*p);
    read_polls(stage);
    if (auto window = read_duration(fields_.find("window"), seconds(1), hours(24 * 14), complaints_))
      stage.window = *window;
    read_unattended(stage);
    read_advice(stage);
    stage.bad_reading_stops = read_word(fields_.find("bad_reading"), bad_reading_words, complaints_).value_or(false);
    draft_.stages.push_back(std::move(draft_stage_));
  }

 private:
  static std::string title_of(const YamlNode& node) {
    for (const YamlEntry& entry : node.entries) {
      if (entry.key == "stage" && !entry.value.text.empty()) return "stage " + quoted(entry.value.text);
    }
    return "the stage";
  }

  void refuse_key(std::string_view key, std::string_view word) {
    if (!fields_.has(key)) return;
    complaints_.add("E-kind-key", fields_.key_spot(key),
                    "a stage of kind " + std::string{word} + " has no '" + std::string{key} + "'",
                    {std::string{key}, {}, {}});
  }

  void check_keys_of_kind(StageKind kind) {
    const StageKindEntry& entry = entry_of(kind);
    if (kind != StageKind::commission) refuse_key("pressure_limit", entry.word);
    if (kind == StageKind::baseline) (void)fields_.need("window");
    else refuse_key("window", entry.word);
    if (!entry.watching) refuse_key("unattended", entry.word);
    if (entry.steps != StepsWanted::none) return;
    for (std::string_view key : step_keys) refuse_key(key, entry.word);
  }

  void check_steps_wanted(StageKind kind) {
    const StageKindEntry& entry = entry_of(kind);
    const bool must = entry.steps == StepsWanted::rising || entry.steps == StepsWanted::falling;
    if (must && !fields_.has("steps")) (void)fields_.need("steps");
  }

  void read_all_limits() {
    draft_stage_.limits = read_limits(fields_.find("limits"), draft_);
    std::vector<std::string_view> names;
    for (const LimitSet& set : draft_.limit_sets) names.push_back(set.name);
    for (std::size_t place :
         read_references(fields_.find("limit_sets"), {"limit set", names}, Star::refused, complaints_)) {
      LimitSet& set = draft_.limit_sets[place];
      set.used = true;
      draft_stage_.limits.insert(draft_stage_.limits.end(), set.limits.begin(), set.limits.end());
    }
    refuse_too_many_limits();
  }

  void refuse_too_many_limits() {
    const std::size_t count = draft_stage_.limits.size();
    draft_.limits_so_far += count;
    if (count <= most_limits_of_a_stage && draft_.limits_so_far <= most_limits_of_a_plan) return;
    draft_stage_.limits.clear();
    complaints_.add("E-list-length", node_.spot,
                    fields_.thing() + " has " + std::to_string(count) + " limits, and the plan " +
                        std::to_string(draft_.limits_so_far) + " by then",
                    {std::to_string(count), "at most 1000 in a stage and 20,000 in a plan", {}});
  }

  void read_people(Stage& stage) {
    for (const YamlNode* item :
         read_one_or_list(fields_.find("sign_off"), 2, "supervisor, engineer, or both", complaints_)) {
      const auto role = read_word(item, signer_words, complaints_);
      if (!role) continue;
      if (std::find(stage.sign_off.begin(), stage.sign_off.end(), *role) != stage.sign_off.end()) {
        complaints_.add("E-listed-twice", item->spot, quoted(item->text) + " is listed twice",
                        {item->text, "each once", {}});
      }
      stage.sign_off.push_back(*role);
    }
    stage.permit_by = read_word(fields_.find("permit_by"), signer_words, complaints_);
  }

  void read_polls(Stage& stage) {
    const auto* entries = read_map(fields_.find("polls"), 2048, "poll periods by channel", complaints_);
    if (entries == nullptr) return;
    draft_stage_.polls_spot = fields_.key_spot("polls");
    const Names names{"channel", names_of(draft_.rig.channels)};
    for (const YamlEntry& entry : *entries) {
      const YamlNode* node = readable(&entry.value, "a time, as in '2 s'", complaints_);
      if (node == nullptr) continue;
      for (std::size_t channel : look_up_all(entry.key, entry.key_spot, names, complaints_))
        read_poll(entry, ChannelId{channel}, stage);
    }
  }

  // No wire's rule of three polls holds for what is read by hand: it is due after its time, and stale after twice that.
  std::optional<Poll> read_poll_by_hand(const YamlEntry& entry, ChannelId channel) {
    const auto every = read_duration(&entry.value, minutes(1), hours(24 * 31), complaints_);
    if (!every) return std::nullopt;
    return Poll{channel, *every, *every * 2};
  }

  void read_poll(const YamlEntry& entry, ChannelId channel, Stage& stage) {
    const bool by_hand = !draft_.rig.channels[channel.at()].bus;
    const auto poll = by_hand ? read_poll_by_hand(entry, channel) : read_poll_of_wire(entry, channel, stage);
    if (!poll) return;
    for (const Poll& other : stage.polls) {
      if (other.channel != channel) continue;
      complaints_.add("E-listed-twice", entry.key_spot,
                      "channel " + draft_.rig.channels[channel.at()].name + " is polled twice",
                      {entry.key, "each channel once", {}});
    }
    stage.polls.push_back(*poll);
  }

  std::optional<Poll> read_poll_of_wire(const YamlEntry& entry, ChannelId channel, const Stage& stage) {
    const bool own = entry.value.kind == YamlNode::Kind::map;
    std::optional<Duration> every, stale;
    if (own) {
      const Fields fields{entry.value, "the poll", poll_keys, complaints_};
      every = read_duration(fields.need("every"), milliseconds(10), hours(24), complaints_);
      stale = read_duration(fields.need("stale_after"), milliseconds(100), hours(72), complaints_);
    } else {
      every = read_duration(&entry.value, milliseconds(10), hours(1), complaints_);
    }
    if (!every || (own && !stale)) return std::nullopt;
    const Duration most = entry_of(stage.kind).watching ? seconds(60) : seconds(10);
    const Duration stale_after = stale.value_or(std::clamp(*every * 3, seconds(2), most));
    if (*every > (own ? stale_after : stale_after / 2)) {
      complaints_.add(
          "E-stale", entry.key_spot,
          "polled every " + duration_text(*every) + " and stale after " + duration_text(stale_after),
          {entry.key,
           own ? "a 'stale_after' of at least one poll" : "at most half of that, or '{every: ..., stale_after: ...}'",
           {}});
    }
    return Poll{channel, *every, stale_after};
  }

  void read_unattended(Stage& stage) {
    const YamlNode* node = fields_.find("unattended");
    if (node == nullptr) return;
    const Fields fields{*node, "'unattended'", unattended_keys, complaints_};
    stage.unattended = true;
    if (auto after = read_duration(fields.need("call_out_after"), Duration{}, hours(1), complaints_))
      stage.call_out_after = *after;
  }

  void read_advice(Stage& stage) {
    const YamlNode* node = fields_.find("what_to_do");
    if (node == nullptr) return;
    const Fields fields{*node, "'what_to_do'", advice_keys, complaints_};
    if (auto say = read_say(fields.find("hold"), complaints_)) stage.say_hold = *say;
    if (auto say = read_say(fields.find("stop"), complaints_)) stage.say_stop = *say;
  }

  const YamlNode& node_;
  PlanDraft& draft_;
  Complaints& complaints_;
  Fields fields_;
  StageDraft draft_stage_;
};

}  // namespace

const StageKindEntry& entry_of(StageKind kind) { return kinds[static_cast<std::size_t>(kind)]; }

std::string_view stage_kind_word(StageKind kind) { return entry_of(kind).word; }

std::optional<StageKind> read_stage_kind(const YamlNode* node, Complaints& complaints) {
  std::array<std::string_view, stage_kind_count> words{};
  for (std::size_t i = 0; i < words.size(); ++i) words[i] = kinds[i].word;
  const auto place = read_word_place(node, words, complaints);
  if (!place) return std::nullopt;
  return static_cast<StageKind>(*place);
}

void read_stage(const YamlNode& node, PlanDraft& draft) { StageReader{node, draft}.read(); }

}  // namespace standfast
