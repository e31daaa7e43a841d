#include "daemon/core/engine.hpp"
#include "daemon/core/limits.hpp"
#include "daemon/core/state.hpp"
#include "daemon/core/state_text.hpp"

namespace standfast {
namespace {

constexpr int text_version = 1;

std::string head() {
  return "standfast-state " + std::to_string(text_version) + " rules " + std::to_string(rules_version) + "\n";
}

std::string job_of_text(const State& state) { return state.rig_sha256 + " and " + state.plan_sha256; }

// What the text says must fit the job: a list that is too short would be read past its end.
bool fits(const State& state, const Job& job) {
  return state.values.channels.size() == job.rig.channels.size() && state.values.jacks.size() == job.rig.jacks.size() &&
         state.inputs.size() == job.rig.inputs.size() && state.input_known.size() == job.rig.inputs.size() &&
         state.instruments.size() == job.rig.channels.size() && state.run.states.size() == job.plan.stages.size() &&
         state.marks_taking.size() == job.plan.marks.size() && state.values.references.marks.size() == job.plan.marks.size() &&
         (!state.run.any || state.run.stage < job.plan.stages.size());
}

}  // namespace

std::string Engine::snapshot() const {
  StateWriter writer;
  state_->visit(writer);
  return head() + writer.text();
}

Result<Engine, std::string> Engine::from_snapshot(const std::string& text, std::shared_ptr<const Job> job) {
  const std::string first = head();
  if (!text.starts_with(first)) return Failure{std::string("not a snapshot of these rules; expected ") + first};
  Engine engine;
  State& state = *engine.state_;
  StateReader reader(std::string_view(text).substr(first.size()));
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
  renew_limits(state);
  return engine;
}

}  // namespace standfast
