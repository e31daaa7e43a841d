#include <algorithm>

#include "config/load_names.hpp"
#include "config/quoted.hpp"
#include "config/yaml_fields.hpp"
#include "daemon/core/by_hand.hpp"
#include "tools/rehearse/rehearsal.hpp"

namespace standfast::rehearse {
namespace {

constexpr std::string_view keys[] = {"rehearsal", "rig", "plan", "follows", "lasts", "seed", "people", "readings", "noise",
                                     "inputs", "acts", "output_module", "expect"};
constexpr std::string_view act_keys[] = {"at", "do", "object", "value", "by", "second", "reason", "expect"};
constexpr std::string_view module_keys[] = {"at", "what", "output"};
constexpr std::string_view input_keys[] = {"at", "input", "happens"};
constexpr std::string_view expect_keys[] = {"at", "until", "signal", "permit", "stage", "state", "first_out", "alarms", "energised"};

constexpr Word<Act> act_words[] = {{"stop", Act::stop},
                                   {"acknowledge", Act::acknowledge},
                                   {"silence", Act::silence},
                                   {"reset", Act::reset},
                                   {"permit", Act::permit_give},
                                   {"permit end", Act::permit_end},
                                   {"enter", Act::stage_enter},
                                   {"propose", Act::stage_propose},
                                   {"approve", Act::stage_approve},
                                   {"abandon", Act::stage_abandon},
                                   {"skip", Act::stage_skip},
                                   {"accept", Act::accept_uncertain},
                                   {"prove", Act::prove_start},
                                   {"note", Act::enter_note},
                                   {"enter reading", Act::enter_reading},
                                   {"propose zero", Act::zero_propose},
                                   {"approve zero", Act::zero_approve},
                                   {"swap", Act::swap_begin},
                                   {"prove swap", Act::swap_prove},
                                   {"approve swap", Act::swap_approve},
                                   {"abandon swap", Act::swap_abandon},
                                   {"shift end", Act::shift_end}};
constexpr Word<Role> role_words[] = {{"technician", Role::technician}, {"supervisor", Role::supervisor},
                                     {"engineer", Role::engineer}, {"auditor", Role::auditor}, {"surveyor", Role::surveyor}};
constexpr Word<ModuleFault> fault_words[] = {
    {"cable pulled", ModuleFault::cable_pulled}, {"cable back", ModuleFault::cable_back},
    {"contact welded", ModuleFault::contact_welded}, {"contact mended", ModuleFault::contact_mended},
    {"circuit opened", ModuleFault::circuit_opened}, {"circuit closed", ModuleFault::circuit_closed},
    {"settings changed", ModuleFault::settings_changed}, {"settings back", ModuleFault::settings_back},
    {"mark lost", ModuleFault::mark_lost}, {"mark back", ModuleFault::mark_back},
    {"watchdog stopped", ModuleFault::watchdog_stopped}, {"watchdog runs", ModuleFault::watchdog_runs}};
constexpr Word<Level> signal_words[] = {
    {"within limits", Level::none}, {"REVIEW", Level::review}, {"HOLD", Level::hold}, {"STOP", Level::stop}};
constexpr Word<PermitKind> permit_words[] = {{"none", PermitKind::none},       {"raise", PermitKind::raise},
                                             {"top-up", PermitKind::top_up},   {"lower", PermitKind::lower},
                                             {"recover", PermitKind::recover}, {"commission", PermitKind::commission}};
constexpr Word<StageState> state_words[] = {{"planned", StageState::planned},
                                            {"running", StageState::running},
                                            {"observation", StageState::observation},
                                            {"criteria met", StageState::criteria_met},
                                            {"awaiting approval", StageState::awaiting_approval},
                                            {"approved", StageState::approved},
                                            {"closed", StageState::closed},
                                            {"abandoned", StageState::abandoned},
                                            {"skipped", StageState::skipped}};
constexpr Word<OutputKind> output_words[] = {{"raise_permit", OutputKind::raise_permit}, {"lower_permit", OutputKind::lower_permit},
                                             {"stop_relay", OutputKind::stop_relay}};

struct Person { std::string name; Role role; };

// A value written once is meant to be entered twice the same; both may be written, to rehearse that they differ.
std::string entered_twice(const std::string& value) {
  return value.find(entered_again) == std::string::npos ? value + std::string(entered_again) + value : value;
}

class Reader {
 public:
  Reader(const YamlNode& root, const Job& job, Complaints& complaints)
      : job_{job}, complaints_{complaints}, fields_{root, "rehearsal", keys, complaints} {}

  Rehearsal read() {
    read_head();
    read_people();
    read_readings();
    read_noise();
    each("inputs", [&](const YamlNode& node) { read_input(node); });
    each("acts", [&](const YamlNode& node) { read_act(node); });
    each("output_module", [&](const YamlNode& node) { read_module(node); });
    each("expect", [&](const YamlNode& node) { read_expectation(node); });
    return std::move(result_);
  }

 private:
  static constexpr std::size_t most = 2000;

  template <class F>
  void each(std::string_view key, F read_one) {
    const auto* list = read_list(fields_.find(key), 1, most, "a list", complaints_);
    if (list)
      for (const YamlNode& node : *list) read_one(node);
  }
  std::optional<Duration> time(const YamlNode* node) { return read_duration(node, Duration{}, hours(1000), complaints_); }
  std::string text(const YamlNode* node) {
    const std::string* found = read_scalar(node, "a text", complaints_);
    return found ? *found : std::string();
  }

  void read_head() {
    result_.title = text(fields_.need("rehearsal"));
    result_.rig_file = text(fields_.find("rig"));
    result_.plan_file = text(fields_.find("plan"));
    result_.follows = text(fields_.find("follows"));
    if (const auto lasts = time(fields_.need("lasts"))) result_.lasts = *lasts;
    if (const auto seed = read_whole(fields_.find("seed"), 0, 1'000'000'000, complaints_)) result_.seed = static_cast<std::uint64_t>(*seed);
  }

  void read_people() {
    const auto* map = read_map(fields_.find("people"), most, "names and roles", complaints_);
    if (!map) return;
    for (const YamlEntry& entry : *map)
      if (const auto role = read_word(&entry.value, role_words, complaints_)) people_.push_back({entry.key, *role});
  }

  Names channel_names() const { return {"channel", names_of(job_.rig.channels)}; }

  void read_readings() {
    const auto* map = read_map(fields_.find("readings"), most, "channels and what they show", complaints_);
    if (!map) return;
    for (const YamlEntry& entry : *map)
      for (const std::size_t channel : look_up_all(entry.key, entry.key_spot, channel_names(), complaints_))
        read_series_of(channel, entry.value);
  }

  void read_series_of(std::size_t channel, const YamlNode& node) {
    if (!job_.rig.channels[channel].bus)
      return complaints_.add("E-kind-key", node.spot, "channel " + job_.rig.channels[channel].name + " is read by hand",
                             {{}, "an act of its own, 'do: enter reading'", {}});
    const std::string* notation = read_scalar(&node, "what it shows, as in '0 mm for 10 s, to 0.6 mm in 5 s'", complaints_);
    if (!notation) return;
    auto series = read_series(*notation, job_.rig.channels[channel].dimension);
    if (!series)
      return complaints_.add(series.error().code, node.spot, series.error().message,
                             {*notation, series.error().expected, series.error().nearest});
    result_.channels.push_back({ChannelId{channel}, std::move(*series), 0});
  }

  void read_noise() {
    const auto* map = read_map(fields_.find("noise"), most, "channels and their noise", complaints_);
    if (!map) return;
    for (const YamlEntry& entry : *map)
      for (const std::size_t channel : look_up_all(entry.key, entry.key_spot, channel_names(), complaints_)) {
        const auto noise = read_amount(&entry.value, job_.rig.channels[channel].dimension, complaints_, {0.0, std::nullopt, "not below 0"});
        for (ChannelSeries& each : result_.channels)
          if (noise && each.channel == ChannelId{channel}) each.noise = *noise;
      }
  }

  void read_input(const YamlNode& node) {
    const Fields fields(node, "input", input_keys, complaints_);
    const auto at = time(fields.need("at"));
    const auto input = read_reference(fields.need("input"), {"input", names_of(job_.rig.inputs)}, complaints_);
    const auto happens = read_true_false(fields.need("happens"), complaints_);
    if (at && input && happens) result_.inputs.push_back({InputId{*input}, *at, *happens});
  }

  PersonClaim person(const YamlNode* node) {
    const std::string name = text(node);
    if (name.empty()) return {};
    const auto known = std::find_if(people_.begin(), people_.end(), [&](const Person& p) { return p.name == name; });
    if (known != people_.end()) return {known->name, known->role};
    complaints_.add("E-reference", node->spot, "no person " + quoted(name) + " in this rehearsal", {name, "a name of 'people'", {}});
    return {};
  }

  void read_act(const YamlNode& node) {
    const Fields fields(node, "act", act_keys, complaints_);
    PlannedAct act;
    act.place = node.spot.place;
    const auto at = time(fields.need("at"));
    const auto what = read_word(fields.need("do"), act_words, complaints_);
    act.action.object = text(fields.find("object"));
    act.action.value = text(fields.find("value"));
    if (what == Act::enter_reading) act.action.value = entered_twice(act.action.value);
    act.action.reason = text(fields.find("reason"));
    act.action.person = person(fields.find("by"));
    act.action.second = person(fields.find("second"));
    act.action.way = Way::rehearsal;
    if (fields.has("expect")) act.expected = text(fields.find("expect"));
    if (!at || !what) return;
    act.at = *at;
    act.action.what = *what;
    result_.acts.push_back(std::move(act));
  }

  void read_module(const YamlNode& node) {
    const Fields fields(node, "output module", module_keys, complaints_);
    const auto at = time(fields.need("at"));
    const auto what = read_word(fields.need("what"), fault_words, complaints_);
    const auto output = read_word(fields.find("output"), output_words, complaints_);
    if (at && what) result_.module.push_back({*at, *what, output.value_or(OutputKind::raise_permit)});
  }

  std::optional<std::vector<std::string>> texts(const Fields& fields, std::string_view key) {
    if (!fields.has(key)) return std::nullopt;
    std::vector<std::string> found;
    const auto* list = read_list(fields.find(key), 0, most, "a list", complaints_);
    if (list)
      for (const YamlNode& node : *list) found.push_back(text(&node));
    return found;
  }

  void read_expectation(const YamlNode& node) {
    const Fields fields(node, "expectation", expect_keys, complaints_);
    Expectation expectation;
    expectation.place = node.spot.place;
    const auto at = time(fields.need("at"));
    expectation.until = time(fields.find("until"));
    expectation.signal = read_word(fields.find("signal"), signal_words, complaints_);
    expectation.permit = read_word(fields.find("permit"), permit_words, complaints_);
    expectation.state = read_word(fields.find("state"), state_words, complaints_);
    if (fields.has("stage")) expectation.stage = text(fields.find("stage"));
    if (fields.has("first_out")) expectation.first_out = text(fields.find("first_out"));
    expectation.alarms = texts(fields, "alarms");
    if (fields.has("energised")) {
      expectation.energised.emplace();
      const auto* list = read_list(fields.find("energised"), 0, 3, "a list of outputs", complaints_);
      if (list)
        for (const YamlNode& output : *list)
          if (const auto kind = read_word(&output, output_words, complaints_)) expectation.energised->push_back(*kind);
    }
    if (!at) return;
    expectation.at = *at;
    result_.expect.push_back(std::move(expectation));
  }

  const Job& job_;
  Complaints& complaints_;
  Fields fields_;
  std::vector<Person> people_;
  Rehearsal result_;
};

template <class T>
Loaded<T> finished(std::optional<T> value, Complaints& complaints) {
  Loaded<T> loaded;
  if (complaints.errors() == 0) loaded.value = std::move(value);
  loaded.findings = complaints.take();
  return loaded;
}

}  // namespace

FileKind kind_of(std::string_view bytes) {
  Complaints unheard("");
  const auto root = read_yaml(bytes, unheard);
  if (!root) return FileKind::unknown;
  const auto has = [&](std::string_view key) {
    return std::any_of(root->entries.begin(), root->entries.end(), [&](const YamlEntry& entry) { return entry.key == key; });
  };
  if (has("rehearsal")) return FileKind::rehearsal;
  if (has("stages")) return FileKind::plan;
  return has("channels") ? FileKind::rig : FileKind::unknown;
}

Loaded<Files> files_of(std::string_view bytes, std::string_view file_name) {
  Complaints complaints(file_name);
  const auto root = read_yaml(bytes, complaints);
  if (!root) return finished<Files>(std::nullopt, complaints);
  const Fields fields(*root, "rehearsal", keys, complaints);
  const auto text = [&](const YamlNode* node) {
    const std::string* found = read_scalar(node, "a file name", complaints);
    return found ? *found : std::string();
  };
  Files files{text(fields.find("rig")), text(fields.find("plan")), text(fields.find("follows"))};
  return finished(std::optional{std::move(files)}, complaints);
}

Loaded<Rehearsal> load_rehearsal(std::string_view bytes, std::string_view file_name, const Job& job) {
  Complaints complaints(file_name);
  const auto root = read_yaml(bytes, complaints);
  if (!root) return finished<Rehearsal>(std::nullopt, complaints);
  auto rehearsal = Reader(*root, job, complaints).read();
  return finished(std::optional{std::move(rehearsal)}, complaints);
}

}  // namespace standfast::rehearse
