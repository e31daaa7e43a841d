// A rehearsal: what the instruments show, what people do, and what the plan must then say. Plain structs, read from a
// small YAML file beside the plan (its notation stands in DEVELOPERS.md and in `standfast rehearse --help`).
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "config/loaded.hpp"
#include "daemon/core/effect.hpp"
#include "daemon/core/event.hpp"
#include "tools/rehearse/series.hpp"

namespace standfast::rehearse {

struct ChannelSeries {
  ChannelId channel;
  Series series;
  double noise{0};          // SI; uniform within plus and minus this.
};

struct InputChange { InputId input; Duration at; bool happens{false}; };

struct PlannedAct {
  Duration at;
  Action action;
  std::string expected{"done"};  // Or the code of the refusal.
  Place place;
};

// What the simulated output module meets.
enum class ModuleFault : std::uint8_t {
  cable_pulled, cable_back, contact_welded, contact_mended, circuit_opened, circuit_closed,
  settings_changed,  // Its own watchdog, safe or power-on values are no longer as the rig states;
  settings_back,
  mark_lost,         // it no longer says of itself whether it is simulated as the rig does.
  mark_back,
  watchdog_stopped,  // No heartbeat is missed any more.
  watchdog_runs,
};
struct ModuleChange { Duration at; ModuleFault fault{}; OutputKind output{OutputKind::raise_permit}; };

struct Expectation {
  Duration at;
  std::optional<Duration> until;    // Holds from `at` until then; none: at that instant.
  std::optional<Level> signal;
  std::optional<PermitKind> permit;
  std::optional<StageState> state;
  std::optional<std::string> stage;
  std::optional<std::string> first_out;
  std::optional<std::vector<std::string>> alarms;  // Subjects open, in order of their numbers; exactly these.
  std::optional<std::vector<OutputKind>> energised;  // Of raise permit, lower permit, stop relay: exactly these.
  Place place;
};

struct Rehearsal {
  std::string title, rig_file, plan_file, follows;  // Files relative to the rehearsal's own folder; `follows` may be empty.
  Duration lasts;
  std::uint64_t seed{1};
  std::vector<ChannelSeries> channels;
  std::vector<InputChange> inputs;
  std::vector<PlannedAct> acts;
  std::vector<ModuleChange> module;
  std::vector<Expectation> expect;
};

// What a YAML file is by its keys, so that `*.yaml` in a job's folder takes no plan for a rehearsal.
enum class FileKind { rehearsal, plan, rig, unknown };
FileKind kind_of(std::string_view bytes);

// The names of the files that a rehearsal rests on; they are needed before its series can be read.
struct Files { std::string rig, plan, follows; };
Loaded<Files> files_of(std::string_view bytes, std::string_view file_name);

Loaded<Rehearsal> load_rehearsal(std::string_view bytes, std::string_view file_name, const Job& job);

}  // namespace standfast::rehearse
