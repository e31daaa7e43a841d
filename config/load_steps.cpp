// Reads the steps of a stage: what load each jack shall stand at, and how long it is observed there.
#include <algorithm>

#include "config/load_names.hpp"
#include "config/plan_draft.hpp"
#include "config/quoted.hpp"
#include "config/unit_text.hpp"

namespace standfast {

namespace {

constexpr std::string_view step_keys[] = {"step", "load", "loads", "observe", "predicted"};
constexpr std::string_view load_keys[] = {"load", "loads"};
constexpr std::string_view observe_keys[] = {"for", "within", "read_at"};
constexpr std::string_view predicted_keys[] = {"travel", "within"};
constexpr Dimension force{Base::force, Per::none}, ratio{Base::ratio, Per::none}, length{Base::length, Per::none};

struct Observation {
  Duration time{};
  Ratio within;
  std::vector<Duration> read_at;
};

std::vector<Duration> read_reading_times(const YamlNode* node, Duration period, Complaints& complaints) {
  std::vector<Duration> times;
  const auto* items = read_list(node, 1, 50, "1 to 50 times since the step was reached", complaints);
  if (items == nullptr) return times;
  for (const YamlNode& item : *items) {
    const auto time = read_duration(&item, Duration{}, hours(24 * 7), complaints);
    if (!time) continue;
    const bool rises = times.empty() || *time > times.back();
    if (rises && *time <= period) {
      times.push_back(*time);
      continue;
    }
    complaints.add("E-observe", item.spot, rises ? quoted(item.text) + " lies behind the end of the observation period"
                                                 : quoted(item.text) + " does not come after the time before it",
                   {item.text, "rising times within the observation period", {}});
  }
  return times;
}

std::optional<Observation> read_observation(const YamlNode* node, Complaints& complaints) {
  if (node == nullptr) return std::nullopt;
  const Fields fields{*node, "'observe'", observe_keys, complaints};
  if (!fields.is_map()) return std::nullopt;
  Observation observe;
  const auto time = read_duration(fields.need("for"), seconds(1), hours(24 * 7), complaints);
  if (time) observe.time = *time;
  const Within band{0.001, 0.2, "0.1 to 20 %"};
  if (auto within = read_amount(fields.need("within"), ratio, complaints, band))
    observe.within = Ratio::from_si(*within);
  observe.read_at = read_reading_times(fields.find("read_at"), time.value_or(hours(24 * 7)), complaints);
  return observe;
}

class StepsReader {
 public:
  StepsReader(const Fields& fields, StageDraft& stage, PlanDraft& draft)
      : fields_{fields}, stage_{stage}, draft_{draft}, complaints_{draft.complaints} {}

  void read() {
    read_jacks();
    common_ = read_observation(fields_.find("observe"), complaints_);
    const auto* items = read_list(fields_.find("steps"), 1, 50, "1 to 50 steps", complaints_);
    if (items == nullptr) return;
    for (const YamlNode& item : *items) read_step(item);
  }

 private:
  void read_jacks() {
    const Names names{"jack", names_of(draft_.rig.jacks)};
    if (fields_.has("jacks")) {
      jacks_ = read_references(fields_.find("jacks"), names, Star::allowed, complaints_);
      return;
    }
    for (std::size_t i = 0; i < names.known.size(); ++i) jacks_.push_back(i);
  }

  void read_step(const YamlNode& node) {
    const Fields fields{node, "the step", step_keys, complaints_};
    if (!fields.is_map()) return;
    Step step;
    step.place = node.spot.place;
    if (const auto kind = fields.one_of(load_keys)) {
      if (*kind == 0) read_percent(fields.find("load"), step);
      else read_loads(fields.find("loads"), step);
    }
    const YamlNode* load = fields.find("load");
    const std::string percent = load != nullptr ? load->text : amount_text({ratio, step.percent.si()}, "%", 1);
    step.name = read_text(fields.find("step"), 40, complaints_).value_or(percent);
    read_step_observation(fields, step);
    if (const YamlNode* predicted = fields.find("predicted")) read_predicted(*predicted, step);
    refuse_second_name(node, step);
    stage_.stage.steps.push_back(std::move(step));
  }

  void refuse_second_name(const YamlNode& node, const Step& step) {
    for (const Step& other : stage_.stage.steps) {
      if (other.name != step.name) continue;
      complaints_.add("E-name-twice", node.spot, "two steps are called " + quoted(step.name),
                      {step.name, "a 'step' name of its own", {}});
      return;
    }
  }

  Force full_load(std::size_t jack) const {
    return Force::from_si(draft_.rig.jacks[jack].planned_share.si() * draft_.plan.column_expected.si());
  }

  void read_percent(const YamlNode* node, Step& step) {
    const auto percent = read_amount(node, ratio, complaints_, {0.0, 1.5, "0 to 150 %"});
    if (!percent) return;
    step.percent = Ratio::from_si(*percent);
    for (std::size_t jack : jacks_) step.targets.push_back({JackId{jack}, full_load(jack) * *percent, full_load(jack)});
  }

  // Each jack's own load; the percentage follows from the sum.
  void read_loads(const YamlNode* node, Step& step) {
    const auto* entries = read_map(node, 64, "loads by jack", complaints_);
    if (entries == nullptr) return;
    const Names names{"jack", names_of(draft_.rig.jacks)};
    double sum = 0, full = 0;
    for (const YamlEntry& entry : *entries) {
      const auto load = read_amount(&entry.value, force, complaints_, {0.0, std::nullopt, "not below 0"});
      for (std::size_t jack : look_up_all(entry.key, entry.key_spot, names, complaints_)) {
        if (!load || !is_of_stage(jack, entry)) continue;
        step.targets.push_back({JackId{jack}, Force::from_si(*load), full_load(jack)});
        sum += *load;
        full += full_load(jack).si();
      }
    }
    if (step.targets.size() != jacks_.size()) {
      complaints_.add("E-steps", node->spot,
                      "this step gives loads for " + std::to_string(step.targets.size()) + " of " +
                          std::to_string(jacks_.size()) + " jacks",
                      {{}, "a load for each jack of the stage", {}});
    }
    if (full > 0) step.percent = Ratio::from_si(sum / full);
    std::sort(step.targets.begin(), step.targets.end(),
              [](const JackTarget& a, const JackTarget& b) { return a.jack < b.jack; });
  }

  bool is_of_stage(std::size_t jack, const YamlEntry& entry) {
    if (std::find(jacks_.begin(), jacks_.end(), jack) != jacks_.end()) return true;
    complaints_.add("E-reference", entry.key_spot, "jack " + draft_.rig.jacks[jack].name + " is not of this stage",
                    {entry.key, "a jack of 'jacks'", {}});
    return false;
  }

  void read_step_observation(const Fields& fields, Step& step) {
    auto observe = read_observation(fields.find("observe"), complaints_);
    if (!observe) observe = common_;
    if (observe) {
      step.observe = observe->time;
      step.within = observe->within;
      step.read_at = observe->read_at;
      return;
    }
    if (fields.has("observe") || fields_.has("observe")) return;
    complaints_.add("E-key-missing", fields.spot(), "the step has no 'observe', nor has its stage",
                    {{}, "'observe: {for: 10 min, within: 2 %}' in the step or in the stage", {}});
  }

  void read_predicted(const YamlNode& node, Step& step) {
    const auto* entries = read_map(&node, 64, "predictions by jack", complaints_);
    if (entries == nullptr) return;
    for (const YamlEntry& entry : *entries) {
      if (readable(&entry.value, "travel and within", complaints_) == nullptr) continue;
      const Fields fields{entry.value, "the prediction", predicted_keys, complaints_};
      const YamlNode* node_travel = fields.need("travel");
      const auto travel = read_amount(node_travel, length, complaints_, {0.0, 10.0, "not below 0"});
      const auto within = read_above_zero(fields.need("within"), length, complaints_);
      for (std::size_t jack :
           look_up_all(entry.key, entry.key_spot, {"jack", names_of(draft_.rig.jacks)}, complaints_)) {
        if (!travel || !within || !is_of_stage(jack, entry)) continue;
        check_stroke(*node_travel, draft_.rig.jacks[jack], *travel);
        step.predicted.push_back({JackId{jack}, Length::from_si(*travel), Length::from_si(*within)});
      }
    }
  }

  void check_stroke(const YamlNode& node, const Jack& jack, double travel) {
    const double stroke = jack.stroke_limit.si();
    const bool too_far = exceeds({length, travel}, {length, stroke});
    if (!too_far && !exceeds({length, travel}, {length, 0.9 * stroke})) return;
    complaints_.add(too_far ? "E-stroke" : "W-stroke", node.spot,
                    "jack " + jack.name + " has a stroke of " + amount_text({length, stroke}, "mm", 0),
                    {node.text, "a travel of at most 90 % of the stroke", {}});
  }

  const Fields& fields_;
  StageDraft& stage_;
  PlanDraft& draft_;
  Complaints& complaints_;
  std::vector<std::size_t> jacks_;
  std::optional<Observation> common_;
};

}  // namespace

void read_steps(const Fields& fields, StageDraft& stage, PlanDraft& draft) { StepsReader{fields, stage, draft}.read(); }

}  // namespace standfast
