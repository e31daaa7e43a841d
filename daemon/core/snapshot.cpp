#include <algorithm>
#include <optional>
#include <string_view>

#include "daemon/core/engine.hpp"
#include "daemon/core/limits.hpp"
#include "daemon/core/marks.hpp"
#include "daemon/core/state.hpp"
#include "daemon/core/state_text.hpp"

namespace standfast {
namespace {

constexpr int text_version = 1;

std::string head() {
  return "standfast-state " + std::to_string(text_version) + " rules " + std::to_string(rules_version) + "\n";
}

// The last line, over all before it: FNV-1a of 64 bits (Fowler, Noll, Vo; public domain). A text with one byte changed
// always has another; who changes it on purpose is the business of the record's seals.
std::string check_line(std::string_view text) {
  std::uint64_t hash = 0xcbf29ce484222325u;
  for (const char c : text) hash = (hash ^ static_cast<unsigned char>(c)) * 0x100000001b3u;
  return "check " + std::to_string(hash) + "\n";
}

// The text without its check line; none where that is not right.
std::optional<std::string_view> checked(std::string_view text) {
  const std::size_t at = text.rfind("check ");
  if (at == std::string_view::npos || text.substr(at) != check_line(text.substr(0, at))) return std::nullopt;
  return text.substr(0, at);
}

std::string job_of_text(const State& state) { return state.rig_sha256 + " and " + state.plan_sha256; }

bool is_of_the_rig(const Alarm& alarm, const Rig& rig) {
  return alarm.channel < static_cast<std::int32_t>(rig.channels.size());
}

bool fits(const Segment& segment, const Rig& rig) {
  return !segment.swap || !segment.swap->feeler || segment.swap->feeler->others.size() == rig.channels.size();
}

// What the text says must fit the job: a list that is too short would be read past its end.
bool fits(const State& state, const Job& job) {
  const Rig& rig = job.rig;
  const auto& tripped_jacks = state.permit.recover.jacks;
  const ProofRun& proof = state.proofs.run;
  return state.values.channels.size() == rig.channels.size() && state.values.jacks.size() == rig.jacks.size() &&
         fits(state.polls, job) && state.values.watches.units.size() == job.polls.blocks.size() &&
         state.values.watches.buses.size() == rig.buses.size() && state.inputs.size() == rig.inputs.size() &&
         state.input_known.size() == rig.inputs.size() && state.input_at.size() == rig.inputs.size() &&
         state.instruments.size() == rig.channels.size() && state.zeros.size() == rig.channels.size() &&
         state.run.states.size() == job.plan.stages.size() &&
         (!state.run.any || state.run.stage < job.plan.stages.size()) &&
         state.marks_taking.size() == job.plan.marks.size() &&
         state.values.references.marks.size() == job.plan.marks.size() &&
         state.values.references.stage_starts.size() == job.plan.stages.size() &&
         (!proof.running || (proof.pressures.size() == rig.jacks.size() && proof.travels.size() == rig.jacks.size())) &&
         std::all_of(state.values.channels.begin(), state.values.channels.end(),
                     [&](const ChannelState& channel) { return fits(channel.segment, rig); }) &&
         std::all_of(state.alarms.open.begin(), state.alarms.open.end(),
                     [&](const Alarm& a) { return is_of_the_rig(a, rig); }) &&
         std::all_of(tripped_jacks.begin(), tripped_jacks.end(),
                     [&](std::uint16_t jack) { return jack < rig.jacks.size(); });
}

}  // namespace

std::string Engine::snapshot() const {
  StateWriter writer;
  state_->visit(writer);
  const std::string text = head() + writer.text();
  return text + check_line(text);
}

Result<Engine, std::string> Engine::from_snapshot(const std::string& text, std::shared_ptr<const Job> job) {
  const std::string first = head();
  if (!text.starts_with(first)) return Failure{std::string("not a snapshot of these rules; expected ") + first};
  const auto whole = checked(text);
  if (!whole) return Failure{std::string("the snapshot is damaged: its last line does not fit the text")};
  Engine engine;
  State& state = *engine.state_;
  StateReader reader(whole->substr(first.size()));
  state.visit(reader);
  if (!reader.error().empty()) return Failure{reader.error()};
  if (!reader.at_end()) return Failure{std::string("text behind the end of the state")};
  if (!job != state.rig_sha256.empty()) return Failure{"the snapshot belongs to the job " + job_of_text(state)};
  if (job) {
    if (job->rig_sha256 != state.rig_sha256 || job->plan_sha256 != state.plan_sha256)
      return Failure{"the snapshot belongs to the job " + job_of_text(state)};
    if (!fits(state, *job)) return Failure{std::string("the snapshot does not fit its job")};
  }
  state.job = std::move(job);
  if (state.job) state.marks_needed = marks_needed(*state.job);
  renew_limits(state);
  engine.look_ahead();
  return engine;
}

}  // namespace standfast
