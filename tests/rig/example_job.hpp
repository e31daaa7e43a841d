// A plan, the real engine and the rig's physics in one process, by a clock that only the test moves.
#pragma once

#include <algorithm>
#include <fstream>
#include <sstream>

#include "config/load_stages.hpp"
#include "config/poll_plan.hpp"
#include "daemon/core/criteria.hpp"
#include "daemon/core/engine.hpp"
#include "daemon/core/proof.hpp"
#include "daemon/core/stage_run.hpp"
#include "daemon/core/state.hpp"
#include "tests/rig/grain_store_plant.hpp"
#include "tests/support/full_walk.hpp"

namespace standfast::rig {

inline const std::string examples = SOURCE_ROOT "/config/examples/grain-store/";

inline std::string bytes_of(const std::string& name) {
  std::ifstream file{examples + name};
  return {std::istreambuf_iterator<char>{file}, {}};
}

// Asked twice a second instead of ten times: the same physics for a fifth of the work.
inline std::string asked_less_often(std::string text) {
  const std::string often = "every: 100 ms", less = "every: 500 ms";
  for (auto at = text.find(often); at != std::string::npos; at = text.find(often)) text.replace(at, often.size(), less);
  return text;
}

struct JobTexts {
  std::string rig = bytes_of("rig.yaml");
  std::string plan = bytes_of("stages.yaml");
  std::string wired = {};  // What the instruments really are, where that is not what the rig file says.
};

inline std::string replaced(std::string text, const std::string& what, const std::string& by) {
  INFO(what);
  REQUIRE(text.find(what) != std::string::npos);
  for (auto at = text.find(what); at != std::string::npos; at = text.find(what, at + by.size())) text.replace(at, what.size(), by);
  return text;
}

inline std::shared_ptr<const Job> job_of(const JobTexts& texts) {
  auto rig = load_rig(asked_less_often(texts.rig), "rig.yaml");
  REQUIRE(rig.value);
  auto plan = load_stages(texts.plan, "stages.yaml", *rig.value);
  for (const auto& finding : plan.findings) UNSCOPED_INFO(finding.found << ": " << finding.expected);
  REQUIRE(plan.value);
  auto job = std::make_shared<Job>();
  job->rig = std::move(*rig.value);
  job->plan = std::move(*plan.value);
  job->polls = poll_plan(job->rig);
  return job;
}

inline const PersonClaim engineer{"E. Quill", Role::engineer}, supervisor{"S. Vane", Role::supervisor},
    technician{"T. Marsh", Role::technician};

class ExampleJob {
 public:
  explicit ExampleJob(const JobTexts& texts = {}) : job_{job_of(texts)}, due_(job_->polls.blocks.size()) {
    auto wired = load_rig(asked_less_often(texts.wired.empty() ? texts.rig : texts.wired), "rig.yaml");
    REQUIRE(wired.value);
    auto plant = Plant::make(*wired.value, grain_store(), {});
    REQUIRE(plant);
    plant_ = std::move(*plant);
    tell(Started{"boot", "test", true});
    tell(JobInForce{job_});
    pass(seconds(20));
  }

  void pass(Duration time) {
    const Instant end = now_ + time;
    while (now_ < end) {
      plant_->step(tick);
      now_ = now_ + tick;
      for (std::size_t b = 0; b < due_.size(); ++b)
        if (due_[b] <= now_) {
          due_[b] = now_ + std::min(every, job_->polls.blocks[b].every);
          tell(scan(b));
        }
      if (now_.ns % module_every.ns == 0) tell(exchange());
      if (effects_.next && *effects_.next <= now_) tell(Tick{});
    }
  }
  template <class F>
  void wait(const std::string& what, Duration most, F is_so) {
    for (Duration passed{}; !is_so(); passed = passed + seconds(1)) {
      INFO("waited in vain for " << what << "; " << told());
      REQUIRE(passed < most);
      pass(seconds(1));
    }
  }

  void act(Act what, const std::string& object, const PersonClaim& by, const PersonClaim& second = {}, const std::string& reason = {}) {
    try_act(what, object, by, second, reason);
    INFO(object << ": " << said_.code << ": " << said_.text << "; " << told());
    REQUIRE(said_.accepted);
    pass(milliseconds(500));
  }
  void try_act(Act what, const std::string& object, const PersonClaim& by, const PersonClaim& second, const std::string& reason) {
    Action action;
    action.what = what;
    action.object = object;
    action.person = by;
    action.second = second;
    action.reason = reason;
    action.seen = state().picture;
    tell(action);
    for (const EffectRow& row : effects_.rows)
      if (const auto* answer = std::get_if<ActionAnswer>(&row)) said_ = *answer;
  }
  void reset(const std::string& reason) {
    act(Act::acknowledge, "all", technician);
    act(Act::reset, "all", supervisor, {}, reason);
  }
  void permit(const std::string& kind, const PersonClaim& second = {}) {
    act(Act::permit_give, kind, supervisor, second);
    wait("the contact of the permit", seconds(5), [this] { return plant_->permitted(rig::Direction::raise); });
  }
  void pump(double percent) {
    std::ostringstream order;
    order << "raise J1 J3 to " << 4.07 * percent << " kN each, J2 J4 to " << 3.33 * percent << " kN each";
    const std::string answer = plant_->obey(order.str(), "test");
    INFO(answer);
    REQUIRE(answer.find("the pump runs") != std::string::npos);
  }
  void close(const PersonClaim& signer) {
    act(Act::stage_propose, {}, technician);
    act(Act::stage_approve, {}, signer);
  }
  void prove(const std::string& proof) {
    act(Act::prove_start, proof, technician);
    if (proof == "drop-by-cable") {
      cable_ = false;
      pass(seconds(5));
      cable_ = true;
    }
    const auto which = proof_of(proof);
    REQUIRE(which);
    wait("proof " + proof, minutes(4), [&] { return state().proofs.has(*which); });
  }

  void reach(double percent) {
    permit("raise");
    pump(percent);
    wait("the observation period", minutes(10), [this] { return in(StageState::observation); });
    wait("the permit to end by itself", minutes(1), [this] { return state().permit.kind == PermitKind::none; });
  }
  // Until all is met that the step asks for. Where a load sinks towards the edge of its band it is topped up, as a supervisor would.
  void observe(double percent, double band) {
    for (Duration passed{}; !is_ready(); passed = passed + seconds(5)) {
      INFO(percent << " %; " << told());
      REQUIRE(passed < hours(1));
      if (lowest_part(percent) < 1 - 0.75 * band) {
        ++top_ups;
        permit("top-up");
        pump(percent);
        pass(seconds(30));
        if (state().permit.kind != PermitKind::none) act(Act::permit_end, {}, technician);
      }
      pass(seconds(5));
    }
  }
  bool is_ready() const { return in(StageState::criteria_met); }
  bool in(StageState wanted) const { return state_of(state().run) == wanted; }
  const State& state() const { return engine_.state(); }
  double total() const { return plant_->site().total_load(); }

  Duration every = seconds(1);  // At the most between two scans of a block: some things need the rig's own 100 ms.
  // Every HOLD and STOP that came, by subject.
  std::vector<std::string> held;
  struct Raised { Level level; std::string subject; Cause cause; };
  std::vector<Raised> raised;  // REVIEW too.
  bool has(Level level, const std::string& subject, Cause cause = Cause::none) const {
    return std::any_of(raised.begin(), raised.end(), [&](const Raised& r) {
      return r.level == level && r.subject.starts_with(subject) && (cause == Cause::none || r.cause == cause);
    });
  }
  std::string criterion(const std::string& name) const {
    for (const CriterionSeen& each : criteria_of(state()))
      if (each.name.starts_with(name)) return each.met ? "met" : "not met";
    return "none";
  }
  Reading load_of_jack(std::size_t jack) const {
    return load_of(JackId{jack}, context_of(state(), Take::as_read)).high;
  }
  double kilonewtons(std::size_t leg) const { return plant_->site().load(leg) / 1e3; }
  Plant& plant() { return *plant_; }
  void set_wall_clock(Duration by) {
    wall_ = wall_ + by;
    tell(ClockStep{by});
  }
  std::string obey(const std::string& order) {
    const std::string answer = plant_->obey(order, "test");
    INFO(answer);
    REQUIRE(answer.starts_with("done"));
    return answer;
  }
  int top_ups{0};

  std::string told() const {
    constexpr const char* words[] = {"", "REVIEW", "HOLD", "STOP"};
    std::ostringstream text;
    text << now_.ns / 1'000'000'000 << " s, stage " << (stage_in_force(state()) ? stage_in_force(state())->name : "none") << ", state "
         << static_cast<int>(state_of(state().run)) << ", step " << state().run.step << ", kN";
    for (std::size_t leg = 0; leg < leg_count; ++leg) text << ' ' << plant_->site().pressure(leg) * plant_->site().piston_area() / 1e3;
    text << ", head " << plant_->site().head() * 1e3 << " mm";
    for (const Raised& r : raised)
      text << "\n  " << words[static_cast<std::size_t>(r.level)] << ' ' << r.subject << " (" << entry_of(r.cause).code << ')';
    for (const Alarm& alarm : state().alarms.open) text << "\n  open: " << alarm.subject << ' ' << static_cast<int>(alarm.level);
    for (const std::string& why : permits_) text << "\n  permit ended: " << why;
    text << "\n  pump " << name_of(plant_->pump().state()) << ", newest proof: " << proved_ << ", held by";
    for (const std::string& subject : held) text << " [" << subject << ']';
    if (stage_in_force(state()) != nullptr) text << "; " << facts_text(criteria_of(state()));
    return text.str();
  }

 private:
  static constexpr Duration tick = milliseconds(50), module_every = milliseconds(100);

  void tell(decltype(Event::what) what) {
    effects_ = engine_.apply({now_, WallTime{1'800'000'000'000'000'000 + now_.ns + wall_.ns}, std::move(what)});
    ENSURE(test::overlooked(state()).empty());
    for (const EffectRow& row : effects_.rows) {
      if (const auto* proof = std::get_if<ProofResult>(&row)) proved_ = proof->facts;
      if (const auto* permit = std::get_if<PermitChange>(&row); permit && !permit->given)
        permits_.push_back(std::string{entry_of(permit->cause).code});
      if (const auto* alarm = std::get_if<AlarmChange>(&row)) {
        if (alarm->from == AlarmState::normal) raised.push_back({alarm->level, alarm->subject, alarm->cause});
        if (alarm->level >= Level::hold && alarm->from == AlarmState::normal) held.push_back(alarm->subject);
      }
    }
  }
  Scan scan(std::size_t place) const {
    const Block& block = job_->polls.blocks[place];
    Scan scan{.block = BlockId{place}, .taken_at = now_};
    const auto words = plant_->words(block.bus, block.unit_id, block.table, block.start, block.count);
    REQUIRE(words);
    if (block.table == Table::coil || block.table == Table::discrete_input) scan.raw = Bits(words->begin(), words->end());
    else scan.raw = *words;
    return scan;
  }
  OutputReport exchange() {
    const OutputModuleStatement& stated = *job_->rig.output_module;
    OutputReport report{.at = now_};
    if (!cable_) {
      report.flaw = Flaw::no_answer;
      return report;
    }
    if (now_ - beat_at_ >= stated.heartbeat_period && !effects_.withhold_heartbeat) {
      beat_ = !beat_;
      beat_at_ = now_;
    }
    report.written = effects_.wanted;
    report.written[OutputKind::heartbeat] = beat_;
    report.facts = {stated.watchdog_at_most, true, true, true};
    std::vector<std::uint16_t> coils(8, 0);
    for (const Output& output : stated.outputs)
      coils[static_cast<std::size_t>(output.coil)] = report.written[output.kind] ? std::uint16_t{1} : std::uint16_t{0};
    REQUIRE(plant_->write(stated.bus, stated.unit_id, Table::coil, 0, coils));
    for (const Output& output : stated.outputs) {
      if (!output.readback) continue;
      const auto read = plant_->words(stated.bus, stated.unit_id, Table::discrete_input, *output.readback, 1);
      REQUIRE(read);
      report.readback[static_cast<std::size_t>(output.kind)] = read->front() != 0;
    }
    return report;
  }
  double lowest_part(double percent) const {
    double lowest = 1;
    for (std::size_t leg = 0; leg < leg_count; ++leg) {
      const double full = (plant_->site().at(leg).x < 0 ? 407e3 : 333e3) * percent / 100;
      lowest = std::min(lowest, plant_->site().pressure(leg) * plant_->site().piston_area() / full);
    }
    return lowest;
  }

  std::shared_ptr<const Job> job_;
  std::unique_ptr<Plant> plant_;
  Engine engine_;
  Effects effects_;
  std::vector<Instant> due_;
  std::string proved_;
  ActionAnswer said_;
  std::vector<std::string> permits_;  // Why each ended.
  Instant now_{}, beat_at_{};
  Duration wall_{};  // What the wall clock is off by.
  bool cable_{true}, beat_{false};
};

}  // namespace standfast::rig
