#include "daemon/service/service.hpp"

#include <algorithm>
#include <utility>

#include "config/poll_periods.hpp"
#include "daemon/core/state.hpp"
#include "daemon/panel/view.hpp"

namespace standfast {
namespace {

// Every act has exactly one answer among its effects.
ActionAnswer answer_in(const Effects& effects, Act what) {
  for (const EffectRow& row : effects.rows)
    if (const auto* answer = std::get_if<ActionAnswer>(&row)) return *answer;
  return {.what = what, .accepted = false, .code = "no-answer", .text = "the act had no answer"};
}

}  // namespace

Service::Service(Parts parts, Rebuilt rebuilt)
    : parts_{std::move(parts)}, engine_{std::move(rebuilt.engine)}, job_{std::move(rebuilt.job)} {
  if (rebuilt.trouble.empty()) return;
  left_behind_ = LeftBehind{std::max<std::int64_t>(1, rebuilt.rows_left), std::move(rebuilt.not_in_record)};
  no_job_ = std::move(rebuilt.trouble);
}

Service::~Service() = default;

Event Service::event_now(News what) const { return {parts_.clock.now(), parts_.wall(), std::move(what)}; }

void Service::start(const Beginning& beginning) {
  if (left_behind_) {
    const WallTime now = parts_.wall();
    parts_.journal.break_at_next({now, now, left_behind_->rows, "a start without the state of before: " + no_job_},
                                 std::move(left_behind_->brought_back));
  }
  apply(beginning.started);
  if (beginning.outage) parts_.journal.write_gap(*beginning.outage, event_now(Tick{}));
  if (job_) {
    parts_.journal.mark_simulated(*job_, event_now(Tick{}));
    apply(JobInForce{job_});
  } else {
    apply(NoJob{no_job_});
  }
  start_wires();
}

void Service::run() {
  while (!ending_) {
    parts_.inbox.wait(std::clamp(next_look() - parts_.clock.now(), Duration{}, longest_silence));
    while (!ending_ && turn()) {}
  }
}

void Service::end() {
  ending_ = true;
  parts_.inbox.wake();
}

void Service::finish() {
  wires_.reset();
  apply(Ended{});
  write_snapshot();
}

void Service::write_snapshot() {
  const Event now = event_now(Tick{});
  const Effects effects = decide(now);
  parts_.journal.write_with_snapshot(now, effects, engine_.snapshot());
  apply(Tick{});  // Whatever that changed of the outputs.
}

bool Service::turn() {
  if (const Duration since = parts_.clock.now() - taken_at_; since > wanted_lives) apply(EngineLate{since});
  auto taken = parts_.inbox.take();
  if (taken) take(std::move(*taken));
  else if (parts_.clock.now() >= next_look()) apply(Tick{});
  look_after();
  return taken.has_value();
}

// The newest thing the engine knows is as old as the scan it took last, if scans wait longer than they should: then what
// it wants is not renewed, the output thread writes all off, and the engine is told, for it must not come back by itself.
void Service::take(Inbox::Taken taken) {
  if (auto* scan = std::get_if<Scan>(&taken.what)) {
    const Duration waited = parts_.clock.now() - scan->taken_at;
    if (!std::exchange(behind_, waited > wanted_lives) && behind_) apply(EngineLate{waited});
    apply(std::move(*scan));
  } else if (auto* report = std::get_if<OutputReport>(&taken.what)) {
    apply(std::move(*report));
  } else if (auto* news = std::get_if<News>(&taken.what)) {
    apply(std::move(*news));
  } else {
    apply_act(std::move(std::get<Asked>(taken.what)));
  }
}

// The main path.
Service::Applied Service::apply(News what) {
  const Event event = event_now(std::move(what));
  Effects effects = decide(event);
  // What was off for an instant between two decisions has to be given anew.
  for (const EffectRow& row : effects.rows)
    if (const auto* change = std::get_if<OutputChange>(&row)) giving_.take(change->wanted);
  renew_outputs(giving_.take(effects.wanted));
  const std::int64_t seq = parts_.journal.write(event, effects, [this] { return engine_.snapshot(); });
  const auto step = giving_.give(effects.wanted, {seq, parts_.journal.durable_seq(), event.at});
  renew_outputs(step.write);
  if (step.not_durable) apply(GivingNotDurable{*step.not_durable});
  return {std::move(effects), seq};
}

Effects Service::decide(const Event& event) {
  Effects effects = engine_.apply(event);
  last_numbers_.take(engine_.state());
  ++applies_;
  taken_at_ = event.at;
  if (!behind_) known_at_ = event.at;
  newest_ = {.rows = {}, .instants = {}, .wanted = effects.wanted, .sound = effects.sound,
             .withhold_heartbeat = effects.withhold_heartbeat, .next = effects.next};
  return effects;
}

void Service::apply_act(Asked asked) {
  const Act what = asked.action.what;
  // The files in force are those in the record, so they must get there: without room nothing comes into force.
  if (what == Act::adopt && asked.revision && !parts_.journal.has_room())
    return asked.answer({{what, false, "record-unhealthy", "the record has no room for the files; nothing was done"}, lost_row, false});
  const Applied applied = apply(std::move(asked.action));
  const ActionAnswer answer = answer_in(applied.effects, what);
  std::int64_t seq = applied.seq;
  if (what == Act::reset) parts_.journal.try_again();
  if (what == Act::adopt && answer.accepted && asked.revision) seq = std::max(seq, put_in_force(*asked.revision));
  answers_.add({answer, seq, seq <= parts_.journal.durable_seq()}, std::move(asked.answer), taken_at_);
}

std::int64_t Service::put_in_force(const Revision& revision) {
  const bool new_wires = !job_ || job_->rig_sha256 != revision.job->rig_sha256;
  if (new_wires) {
    wires_.reset();
    parts_.inbox.forget_wires();
  }
  job_ = revision.job;
  polled_stage_.reset();
  parts_.journal.mark_simulated(*job_, event_now(Tick{}));
  const std::int64_t bytes = parts_.journal.write_revision(revision, event_now(Tick{}));
  const std::int64_t in_force = apply(JobInForce{job_}).seq;
  if (new_wires) start_wires();
  return std::max(bytes, in_force);
}

void Service::start_wires() {
  if (!job_) return;
  wires_ = std::make_unique<Wires>(*job_, parts_.makers, parts_.clock, parts_.inbox);
  renew_outputs(giving_.take(newest_.wanted));
}

void Service::renew_outputs(const OutputImage& write) {
  if (!wires_) return;
  wires_->renew({.image = write,
                 .sound = newest_.sound,
                 .withhold_heartbeat = newest_.withhold_heartbeat,
                 .known_at = known_at_,
                 .applies = applies_,
                 .last = false});
}

Instant Service::next_look() const {
  const Instant regular = taken_at_ + longest_silence;
  return newest_.next ? std::clamp(*newest_.next, taken_at_ + shortest_tick, regular) : regular;
}

// What follows from time and the disk alone.
void Service::look_after() {
  if (const auto health = parts_.journal.health_changed()) apply(*health);
  if (parts_.journal.snapshot_due()) write_snapshot();
  const Instant now = parts_.clock.now();
  const std::int64_t durable = parts_.journal.durable_seq();
  if (giving_.waiting()) {
    const auto step = giving_.give(newest_.wanted, {parts_.journal.last_seq(), durable, now});
    renew_outputs(step.write);
    if (step.not_durable) apply(GivingNotDurable{*step.not_durable});
  }
  answers_.settle(durable, now);
  const Stage* stage = job_ ? stage_in_force(engine_.state()) : nullptr;
  if (wires_ && polled_stage_ != stage) wires_->set_periods(poll_periods(job_->polls, *(polled_stage_ = stage)));
  if (parts_.pictures.wanted() && now - shown_at_ >= picture_pace) show();
  if (now - stood_at_ >= standing_pace) write_standing();
}

void Service::show() {
  shown_at_ = parts_.clock.now();
  const State& state = engine_.state();
  parts_.pictures.publish(picture_json(state, {.now = shown_at_ + state.shift,
                                               .wall = parts_.wall(),
                                               .job_folder = parts_.job_folder,
                                               .problems = wires_ ? wires_->problems() : std::vector<std::string>{},
                                               .last_seq = parts_.journal.last_seq(),
                                               .durable_seq = parts_.journal.durable_seq(),
                                               .record_head = parts_.journal.head(),
                                               .record_key = parts_.journal.public_key(),
                                               .record_unsigned = parts_.journal.why_unsigned(),
                                               .record_trouble = parts_.journal.why_unhealthy()},
                                       last_numbers_));
}

void Service::write_standing() {
  stood_at_ = parts_.clock.now();
  const State& state = engine_.state();
  const Alarm* alarm = leading(state.alarms);
  Standing now{signal_word(state.signal) + (alarm ? ": " + alarm->subject : std::string()), job_ != nullptr,
               state.rig_sha256, state.plan_sha256, wires_ ? wires_->progress() : std::vector<std::int64_t>{}};
  now.progress.push_back(applies_);
  const std::lock_guard lock{standing_mutex_};
  standing_ = std::move(now);
}

Service::Standing Service::standing() const {
  const std::lock_guard lock{standing_mutex_};
  return standing_;
}

}  // namespace standfast
