#include "tests/simulation/crew.hpp"

#include <sstream>

#include "daemon/core/proof.hpp"
#include "daemon/core/stage_run.hpp"

namespace standfast::test {
namespace {

const PersonClaim nobody{}, technician{"T. Finch", Role::technician}, supervisor{"S. Wren", Role::supervisor},
    engineer{"E. Quill", Role::engineer}, auditor{"A. Dunlin", Role::auditor}, other{"H. Crane", Role::supervisor};
const PersonClaim people[] = {nobody, technician, supervisor, engineer, auditor, other};
const char* const objects[] = {"", "all", "1", "3", "raise", "top-up", "lower", "commission", "recover", "Commission", "Baseline", "Snug",
                               "Raise", "Lock off", "Cut", "P1", "G1", "S1", "heartbeat", "drop-by-cable", "sounder", "nonsense"};
const char* const values[] = {"", "A", "up to 5 bar", "J1 J3 up to 300 kN further 1 mm, 50 kN, 5 %, 5 mm/min", "60 s", "heard",
                              "J1 J2 J3 J4 down to 10 kN further 2 mm, 50 kN", "no value"};

template <class T, std::size_t N>
const T& one_of(const T (&all)[N], SteadyRandom& random) {
  return all[static_cast<std::size_t>(random.below(static_cast<std::int64_t>(N)))];
}

}  // namespace

Crew::Crew(const Job& job, rig::Plant& plant, std::uint64_t seed) : job_{job}, plant_{plant}, random_{seed} {
  wrong_one_in_ = 4 + random_.below(60);
}

void Crew::act(Daemon& daemon, Act what, const std::string& object, const PersonClaim& by, const PersonClaim& with,
               const std::string& value) {
  Action action;
  action.what = what;
  action.object = object;
  action.value = value;
  action.reason = "for a reason";
  action.person = by;
  action.second = with;
  action.seen = daemon.state().picture;
  daemon.tell(std::move(action));
}

void Crew::turn(Daemon* daemon, Troubles& troubles, Instant now) {
  next_ = now + milliseconds(500 + random_.below(random_.one_in(5) ? 60'000 : 5'000));
  if (!daemon) return;
  if (random_.one_in(wrong_one_in_)) ask_for_anything(*daemon);
  else go_on(*daemon, troubles);
}

void Crew::ask_for_anything(Daemon& daemon) {
  Action action;
  action.what = static_cast<Act>(random_.below(act_count));
  action.object = one_of(objects, random_);
  action.value = one_of(values, random_);
  action.reason = random_.one_in(4) ? "" : "a reason";
  action.person = one_of(people, random_);
  action.second = one_of(people, random_);
  action.seen = daemon.state().picture - (random_.one_in(3) ? random_.below(3) : 0);
  daemon.tell(std::move(action));
}

void Crew::go_on(Daemon& daemon, Troubles& troubles) {
  const State& state = daemon.state();
  if (state.signal >= Level::hold && state.permit.kind != PermitKind::recover) return after_hold(daemon, troubles);
  const Stage* stage = newest_stage(state.run, job_.plan);
  if (!stage) return next_stage(daemon);
  switch (state_of(state.run)) {
    case StageState::criteria_met: return act(daemon, Act::stage_propose, {}, technician);
    case StageState::awaiting_approval:
      act(daemon, Act::stage_approve, {}, engineer);
      return act(daemon, Act::stage_approve, {}, supervisor);
    case StageState::running: case StageState::observation: return work(daemon, troubles, *stage);
    default: return next_stage(daemon);
  }
}

void Crew::after_hold(Daemon& daemon, Troubles& troubles) {
  if (random_.one_in(2)) troubles.mend_site();
  if (random_.one_in(12)) return act(daemon, Act::permit_give, "recover", engineer, supervisor, values[random_.one_in(2) ? 3 : 6]);
  act(daemon, Act::acknowledge, "all", technician);
  std::vector<std::string> stepped;
  for (const Alarm& alarm : daemon.state().alarms.open)
    if (alarm.cause == Cause::lone_step) stepped.push_back(std::to_string(alarm.number));
  for (const std::string& number : stepped) act(daemon, Act::reset, number, supervisor);
  act(daemon, Act::reset, "all", engineer, supervisor);
}

void Crew::next_stage(Daemon& daemon) {
  const StageRun& run = daemon.state().run;
  const bool again = run.any && state_of(run) == StageState::abandoned;
  const std::size_t next = !run.any ? 0 : again ? run.stage : run.stage + std::size_t{1};
  if (next >= job_.plan.stages.size() || !is_in_this_version(job_.plan.stages[next].kind)) return;  // The plan's end.
  act(daemon, Act::stage_enter, job_.plan.stages[next].name, supervisor);
}

void Crew::work(Daemon& daemon, Troubles& troubles, const Stage& stage) {
  for (const Criterion& criterion : stage.proceed_when)
    if (criterion.kind == Criterion::Kind::entered && random_.one_in(3)) act(daemon, Act::enter_note, criterion.entered, technician);
  const State& state = daemon.state();
  if (stage.kind == StageKind::commission) {
    if (!state.permit.given()) act(daemon, Act::permit_give, "commission", supervisor, technician);
    return act(daemon, Act::prove_start, "heartbeat", technician);
  }
  const Step* step = due_step(state.run, job_.plan);
  if (!step) return;
  const bool down = stage.kind == StageKind::pressure_down;
  const bool observed = state_of(state.run) == StageState::observation;
  if (observed && stage.kind == StageKind::snug) return prove(daemon, troubles);
  if (observed && !random_.one_in(20)) return;
  const char* permit = down ? "lower" : observed ? "top-up" : "raise";
  if (!state.permit.given()) act(daemon, Act::permit_give, permit, down ? engineer : supervisor, down ? supervisor : nobody);
  if (daemon.state().permit.given() && !plant_.pump().running()) pump(*step, down);
}

// One proof after the other, until all have been passed.
void Crew::prove(Daemon& daemon, Troubles& troubles) {
  if (daemon.state().proofs.run.running) return;
  for (const char* proof : {"drop-by-command", "drop-by-heartbeat", "drop-by-cable"}) {
    if (daemon.state().proofs.has(*proof_of(proof))) continue;
    if (!daemon.state().permit.given()) return act(daemon, Act::permit_give, "top-up", supervisor);
    act(daemon, Act::prove_start, proof, technician);
    if (std::string_view(proof) == "drop-by-cable") troubles.pull_cable();
    return;
  }
}

void Crew::pump(const Step& step, bool down) {
  std::ostringstream order;
  const double percent = step.percent.si() * 100;
  order << (down ? "lower J1 J3 to " : "raise J1 J3 to ") << 4.07 * percent << " kN each, J2 J4 to " << 3.33 * percent << " kN each";
  plant_.obey(order.str(), "simulation");
}

}  // namespace standfast::test
