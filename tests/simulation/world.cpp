#include "tests/simulation/world.hpp"

#include <fstream>
#include <iterator>
#include <stdexcept>

#include "config/load_rig.hpp"
#include "config/load_stages.hpp"
#include "config/poll_plan.hpp"
#include "tools/rig/grain_store.hpp"

namespace standfast::test {
namespace {

// Watchdog of the module 2 s; before that at most one heartbeat period for which beats go on, one exchange and the daemon's
// own pauses.
constexpr Duration contact_opens_within = milliseconds(3'500);
constexpr Duration finest_step = milliseconds(100), longest_step = milliseconds(1000);

std::string bytes_of(const std::string& name) {
  std::ifstream file{SOURCE_ROOT "/config/examples/grain-store/" + name};
  return {std::istreambuf_iterator<char>{file}, {}};
}

// Asked twice a second where the rig says ten times: the same physics for a fifth of the work.
std::string asked_less_often(std::string text) {
  const std::string often = "every: 100 ms", less = "every: 500 ms";
  for (auto at = text.find(often); at != std::string::npos; at = text.find(often)) text.replace(at, often.size(), less);
  return text;
}

std::shared_ptr<const Job> job_of(SteadyRandom& random) {
  const std::string rig_bytes = random.one_in(10) ? bytes_of("rig.yaml") : asked_less_often(bytes_of("rig.yaml"));
  const char* plan_name = random.one_in(2) ? "stages.yaml" : "stages-demo.yaml";
  auto rig = load_rig(rig_bytes, "rig.yaml");
  if (!rig.value) throw std::runtime_error("the example's rig does not load");
  auto plan = load_stages(bytes_of(plan_name), plan_name, *rig.value);
  if (!plan.value) throw std::runtime_error("the example's plan does not load");
  auto job = std::make_shared<Job>();
  job->rig = std::move(*rig.value);
  job->plan = std::move(*plan.value);
  job->polls = poll_plan(job->rig);
  job->rig_sha256 = job->plan_sha256 = "0";
  return job;
}

std::unique_ptr<rig::Plant> plant_of(const Job& job, std::uint64_t seed) {
  auto plant = rig::Plant::make(job.rig, rig::grain_store(), {.seed = seed, .speed = 1, .script = {}});
  if (!plant) throw std::runtime_error(plant.error());
  return std::move(*plant);
}

}  // namespace

void Lived::add(const Lived& other) {
  hours += other.hours;
  events += other.events, permits += other.permits, recovers += other.recovers, holds += other.holds, stops += other.stops;
  starts += other.starts, troubles += other.troubles, asked += other.asked, spoilt += other.spoilt, replays += other.replays;
  compared += other.compared;
  stages = std::max(stages, other.stages);
  lives += other.lives, ended += other.ended;
}

World::World(std::uint64_t seed)
    : random_{seed}, job_{job_of(random_)}, framing_{random_.one_in(2) ? Framing::tcp : Framing::serial},
      plant_{plant_of(*job_, random_.next())}, disk_{job_}, troubles_{{*job_, *plant_, clock_, disk_}, random_.next()},
      crew_{*job_, *plant_, random_.next()} {
  site_at_ = back_at_ = clock_.now();
  start();
}

void World::start() {
  const Started started{"boot " + std::to_string(boots_), "simulated", first_};
  first_ = false;
  ++lived_.starts;
  daemon_ = std::make_unique<Daemon>(
      Daemon::Around{job_, *plant_, clock_, disk_, invariants_, framing_, random_.next()}, std::move(rebuilt_), started);
  invariants_.require(!daemon_->state().permit.given(), "no permit outlives a start");
  troubles_.show_wires(*daemon_);
}

Instant World::due() const {
  const Instant others = std::min(troubles_.due(), crew_.due());
  return std::min({daemon_ ? daemon_->due() : back_at_, others, clock_.now() + longest_step});
}

void World::live(Duration time) {
  // A machine's clock may begin again; the site's own time goes on.
  const double until = lived_.hours * 3600 + time.seconds();
  while (invariants_.broken.empty() && !given_up() && !is_over() && plant_->elapsed().seconds() < until) turn();
  lived_.hours = plant_->elapsed().seconds() / 3600;
  lived_.lives = 1;
}

bool World::given_up() const {
  return daemon_ && daemon_->state().held_since && daemon_->state().now - *daemon_->state().held_since > minutes(30);
}

bool World::is_over() const { return ended_at_ && Instant{} + plant_->elapsed() - *ended_at_ > minutes(10); }

void World::turn() {
  clock_.go_to(due());
  catch_up();
  const Instant now = clock_.now();
  if (troubles_.due() <= now) troubles_.turn(daemon_.get());
  if (crew_.due() <= now) {
    crew_.turn(daemon_.get(), troubles_, now);
    if (daemon_) troubles_.show_wires(*daemon_);
  }
  if (const auto death = troubles_.take_death(); death && daemon_) die(*death);
  if (daemon_ && daemon_->due() <= clock_.now()) daemon_->turn();
  if (!daemon_ && back_at_ <= clock_.now()) start();
  catch_up();
  check_contacts();
  const Disk::Replayed replayed = disk_.replay_new_stretches();
  lived_.replays += replayed.stretches;
  invariants_.require(replayed.trouble.empty(), replayed.trouble.c_str());
  if (daemon_) note_stages();
}

// How many stages are closed; whether those of this version all are.
void World::note_stages() {
  const auto& states = daemon_->state().run.states;
  int closed = 0;
  bool all = !states.empty();
  for (std::size_t s = 0; s < states.size(); ++s) {
    closed += states[s] == StageState::closed;
    all = all && (states[s] == StageState::closed || !is_in_this_version(job_->plan.stages[s].kind));
  }
  lived_.stages = std::max(lived_.stages, closed);
  if (all && !ended_at_) ended_at_ = Instant{} + plant_->elapsed();
  lived_.ended = ended_at_.has_value();
}

void World::catch_up() {
  if (clock_.now() - site_at_ < finest_step) return;
  plant_->step(clock_.now() - site_at_);
  plant_->take_log();
  site_at_ = clock_.now();
}

// The last word is the contact's: it is open soon after a permit has ended, whatever became of the wire and of the daemon.
void World::check_contacts() {
  const bool tampered = troubles_.have_tampered_outputs();
  for (const OutputKind kind : {OutputKind::raise_permit, OutputKind::lower_permit}) {
    Instant& last = last_wanted_[static_cast<std::size_t>(kind)];
    if (tampered || (daemon_ && daemon_->has_wanted(kind))) last = clock_.now();
    invariants_.require(!plant_->relays()->contact(kind).value_or(false) || clock_.now() - last <= contact_opens_within,
                        "the contact of a permit is open soon after the permit has ended");
  }
}

// As the service's own start would find it. Nothing lost: the same state as died, to the byte.
void World::die(const Troubles::Death& death) {
  count_wires(lived_);
  Disk::Again again = disk_.crash();
  invariants_.require(again.trouble.empty(), again.trouble.c_str());
  if (!again.engine) return;
  compare_with(daemon_->engine(), again, {clock_.now(), clock_.wall(), Tick{}});
  rebuilt_ = std::move(*again.engine);
  daemon_.reset();
  if (death.machine) {
    ++boots_;
    const Instant before = clock_.now();
    clock_.begin_anew();
    const Duration back = before - clock_.now();
    troubles_.clock_went_back(back);
    crew_.clock_went_back(back);
    site_at_ = clock_.now();
    for (Instant& last : last_wanted_) last = last - back;
  }
  back_at_ = clock_.now() + death.away;
}

// Ticks that changed nothing are not in the record: both are told the time first.
void World::compare_with(Engine& dead, const Disk::Again& again, const Event& event) {
  if (!again.all_durable || !again.trouble.empty()) return;
  auto copy = Engine::from_snapshot(again.engine->snapshot(), again.engine->state().job);
  if (!copy) return invariants_.require(false, "the rebuilt state has no snapshot that can be read");
  dead.apply(event);
  copy->apply(event);
  ++lived_.compared;
  invariants_.require(dead.snapshot() == copy->snapshot(), "what a start finds is the state that died");
}

void World::count_wires(Lived& lived) const {
  if (!daemon_) return;
  for (const SimulatedWire* wire : {&daemon_->instruments(), &daemon_->outputs()}) {
    lived.asked += wire->asked;
    lived.spoilt += wire->spoilt;
  }
}

Lived World::lived() const {
  Lived all = lived_;
  all.events = invariants_.events, all.permits = invariants_.permits, all.recovers = invariants_.recovers;
  all.holds = invariants_.holds, all.stops = invariants_.stops, all.troubles = troubles_.happened;
  all.broken = invariants_.broken;
  count_wires(all);
  return all;
}

}  // namespace standfast::test
