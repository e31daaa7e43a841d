#include "tests/simulation/daemon.hpp"

#include <algorithm>

#include "config/line_load.hpp"
#include "config/poll_periods.hpp"
#include "daemon/core/stage_run.hpp"

namespace standfast::test {
namespace {

constexpr Duration longest_silence = seconds(1), lags_after = seconds(5);

std::vector<Duration> periods_of(const PollPlan& polls) {
  std::vector<Duration> periods;
  for (const Block& block : polls.blocks) periods.push_back(block.every);
  return periods;
}

}  // namespace

Daemon::Daemon(const Around& around, Engine engine, const Started& started)
    : around_{around}, random_{around.seed}, engine_{std::move(engine)}, schedule_{periods_of(around.job->polls), around.clock.now()} {
  const OutputModuleStatement& stated = *around_.job->rig.output_module;
  const BusId bus = around_.job->polls.blocks.front().bus;
  auto instruments = std::make_unique<SimulatedWire>(around_.plant, bus, around_.framing, around_.clock, random_.next());
  auto outputs = std::make_unique<SimulatedWire>(around_.plant, stated.bus, Framing::tcp, around_.clock, random_.next());
  instrument_wire_ = instruments.get();
  output_wire_ = outputs.get();
  bus_ = std::make_unique<ModbusBus>(std::move(instruments), around_.clock);
  module_ = std::make_unique<ModbusOutputs>(std::move(outputs), stated, around_.clock);
  const OutputPass::Settings settings{around_.job->rig.buses[stated.bus.at()].timeout, stated.heartbeat_period};
  pass_ = std::make_unique<OutputPass>(*module_, settings, around_.clock);
  taken_at_ = exchange_at_ = around_.clock.now();
  around_.invariants.begin();
  tell(started);
  tell(JobInForce{around_.job});
}

const Effects& Daemon::tell(decltype(Event::what) what) {
  const Event event{around_.clock.now(), around_.clock.wall(), std::move(what)};
  const Effects effects = engine_.apply(event);
  around_.invariants.check(engine_, event, effects);
  ++applies_;
  taken_at_ = event.at;
  newest_ = effects;
  for (const EffectRow& row : effects.rows)
    if (const auto* change = std::get_if<OutputChange>(&row)) giving_.take(change->wanted);
  renew(giving_.take(effects.wanted));
  const bool wants = record::wants_snapshot(effects.rows);
  const Instant durable_at = event.at + milliseconds(1 + random_.below(20));
  const std::int64_t seq = around_.disk.write(event, effects, wants ? engine_.snapshot() : std::string{}, durable_at);
  note_giving(effects, seq);
  around_.disk.pass(event.at);
  const auto step = giving_.give(effects.wanted, {seq, around_.disk.durable_seq(), event.at});
  renew(step.write);
  if (const auto* action = std::get_if<Action>(&event.what); action && action->what == Act::reset) failed_ = around_.disk.refuses();
  if (step.not_durable) tell(GivingNotDurable{*step.not_durable});
  return newest_;
}

void Daemon::note_giving(const Effects& effects, std::int64_t seq) {
  for (const EffectRow& row : effects.rows) {
    const auto* change = std::get_if<OutputChange>(&row);
    if (!change) continue;
    for (std::size_t k = 0; k < gave_.size(); ++k) {
      if (!change->wanted.on[k]) gave_[k] = 0;
      else if (gave_[k] == 0) gave_[k] = seq;
    }
  }
}

void Daemon::renew(const OutputImage& image) {
  wanted_ = {.image = image, .sound = newest_.sound, .withhold_heartbeat = newest_.withhold_heartbeat,
             .known_at = taken_at_, .applies = applies_, .last = false};
  for (const OutputKind kind : {OutputKind::raise_permit, OutputKind::lower_permit}) {
    lately_[kind] = lately_[kind] || image[kind];
    around_.invariants.require(!image[kind] || around_.disk.durable_seq() >= gave_[static_cast<std::size_t>(kind)],
                               "no permit is written before the row that gave it is on the disk");
  }
}

Instant Daemon::due() const {
  const Instant silence = taken_at_ + longest_silence;
  const Instant decide = newest_.next ? std::min(*newest_.next, silence) : silence;
  return std::min({schedule_.next().at, exchange_at_, decide});
}

void Daemon::turn() {
  const Instant now = around_.clock.now();
  if (now - taken_at_ > wanted_lives) tell(EngineLate{now - taken_at_});
  if (exchange_at_ <= now) exchange();
  else if (const auto next = schedule_.next(); next.at <= now) poll(next.block);
  else tell(Tick{});
  look_after();
}

void Daemon::poll(std::size_t place) {
  const Block& block = around_.job->polls.blocks[place];
  const Duration timeout = around_.job->rig.buses[block.bus.at()].timeout;
  Scan scan = bus_->ask(BlockId{place}, block, around_.clock.now() + timeout);
  schedule_.asked(place, scan.taken_at);
  const Scan said = scan;
  tell(std::move(scan));
  if (const std::string wrong = untruth(*around_.job, said, instrument_wire_->truly_said(), state()); !wrong.empty())
    around_.invariants.require(false, wrong.c_str());
}

void Daemon::exchange() {
  const OutputPass::Done done = pass_->once(wanted_);
  exchange_at_ = around_.clock.now() + pause_between_exchanges(around_.job->rig.output_module->heartbeat_period);
  if (done.worth_telling) tell(done.report);
}

void Daemon::look_after() {
  const Instant now = around_.clock.now();
  around_.disk.pass(now);
  const RecordState health = failed_                                 ? RecordState::failed
                             : around_.disk.lag(now) > lags_after ? RecordState::lagging
                                                                     : RecordState::healthy;
  if (health != told_) tell(RecordHealth{told_ = health});
  if (giving_.waiting()) {
    const auto step = giving_.give(newest_.wanted, {around_.disk.last_seq(), around_.disk.durable_seq(), now});
    renew(step.write);
    if (step.not_durable) tell(GivingNotDurable{*step.not_durable});
  }
  const Stage* stage = stage_in_force(state());
  if (stage != polled_stage_) schedule_.set_periods(poll_periods(around_.job->polls, polled_stage_ = stage), now);
}

}  // namespace standfast::test
