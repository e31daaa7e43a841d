#include "tests/support/site.hpp"

#include <algorithm>
#include <map>
#include <stdexcept>

#include "config/ensure.hpp"
#include "tests/support/full_walk.hpp"
#include "tests/support/rehearsed.hpp"
#include "tools/rehearse/wire.hpp"

namespace standfast::test {
namespace {

struct Ended {
  std::shared_ptr<const Job> job;
  std::string snapshot;
  Instant at;
  WallTime wall;
  std::vector<rehearse::Shown> shown;
};

// What each channel shows at the end, backwards from its reading.
std::vector<rehearse::Shown> shown_by(const State& state) {
  std::vector<rehearse::Shown> shown;
  for (const ChannelState& channel : state.values.channels) shown.push_back({rehearse::Shape::still, channel.reading.value.si});
  return shown;
}

Ended played(const std::string& name) {
  const Rehearsed rehearsal = rehearsed(name);
  Engine engine;
  for (const Event& event : rehearsal.events) engine.apply(event);
  return {rehearsal.job, engine.snapshot(), rehearsal.events.back().at, rehearsal.events.back().wall, shown_by(engine.state())};
}

// Each rehearsal is played once for all tests of a program.
const Ended& ended(const std::string& name) {
  static std::map<std::string, Ended> known;
  const auto found = known.find(name);
  return found != known.end() ? found->second : known.emplace(name, played(name)).first->second;
}

template <class Named>
std::size_t place_of(const std::vector<Named>& all, const std::string& name) {
  const auto found = std::find_if(all.begin(), all.end(), [&](const Named& each) { return each.name == name; });
  if (found == all.end()) throw std::runtime_error("nothing is called " + name);
  return static_cast<std::size_t>(found - all.begin());
}

}  // namespace

Site::Site(const std::string& name) {
  const Ended& before = ended(name);
  auto from = Engine::from_snapshot(before.snapshot, before.job);
  if (!from) throw std::runtime_error(from.error());
  engine = std::move(*from);
  now = before.at;
  wall = before.wall;
  begin(before.job);
  shown_ = before.shown;
  tell(Tick{});
}

Site::Site(std::shared_ptr<const Job> job) {
  now = Instant{} + hours(1);
  wall = WallTime{1'800'000'000'000'000'000};
  begin(std::move(job));
  shown_.assign(job_->rig.channels.size(), {rehearse::Shape::still, 0});
  tell(Started{"a boot", "a test", true});
  tell(JobInForce{job_});
}

void Site::begin(std::shared_ptr<const Job> job) {
  job_ = std::move(job);
  inputs_.assign(job_->rig.inputs.size(), false);
  module_ = std::make_unique<rehearse::Module>(job_->rig);
}

rehearse::Shown& Site::shown(const std::string& channel) { return shown_[place_of(job_->rig.channels, channel)]; }
void Site::shows(const std::string& channel, double value) { shown(channel) = {rehearse::Shape::still, value}; }
void Site::is_dead(const std::string& channel) { shown(channel).shape = rehearse::Shape::dead; }
void Site::is_missing(const std::string& channel) { shown(channel).shape = rehearse::Shape::missing; }
void Site::module_meets(rehearse::ModuleFault fault, OutputKind output) { module_->meet({{}, fault, output}); }
void Site::input_happens(const std::string& input, bool happens) { inputs_[place_of(job_->rig.inputs, input)] = happens; }

const Effects& Site::tell(decltype(Event::what) what) {
  const Event event{now, wall, std::move(what)};
  effects_ = engine.apply(event);
  if (told_++ < walked_after) ENSURE(overlooked(engine.state()).empty());
  if (watch) watch(event, effects_);
  rows.insert(rows.end(), effects_.rows.begin(), effects_.rows.end());
  return effects_;
}

Scan Site::scan(std::size_t place) const {
  const Block& block = job_->polls.blocks[place];
  Scan scan{.block = BlockId{place}, .taken_at = now};
  if (std::find(missing_blocks_.begin(), missing_blocks_.end(), place) != missing_blocks_.end())
    return {BlockId{place}, now, Words{}, Flaw::no_answer};
  if (block.table == Table::coil || block.table == Table::discrete_input) {
    Bits bits(static_cast<std::size_t>(block.count), 0);
    for (const auto& input : block.inputs)
      bits[static_cast<std::size_t>(input.offset)] = inputs_[input.input.at()] != job_->rig.inputs[input.input.at()].normally_closed;
    scan.raw = std::move(bits);
    return scan;
  }
  Words words(static_cast<std::size_t>(block.count), 0);
  for (const auto& channel : block.channels) {
    const rehearse::Shown& shown = shown_[channel.channel.at()];
    if (shown.shape == rehearse::Shape::missing) return {BlockId{place}, now, Words{}, Flaw::no_answer};
    const auto encoded = rehearse::words_for(job_->rig.channels[channel.channel.at()], shown);
    std::copy(encoded.begin(), encoded.end(), words.begin() + channel.offset);
  }
  scan.raw = std::move(words);
  return scan;
}

void Site::answer_of_module() {
  if (!module_answers_ || !job_->rig.output_module) return;
  tell(module_->exchange(effects_.wanted, effects_.withhold_heartbeat, now));
}

void Site::pass(Duration time, Duration every) {
  const Instant until = now + time;
  while (now < until) {
    const Instant next = std::min(now + every, until);
    while (effects_.next && *effects_.next < next) {
      wall.ns += (*effects_.next - now).ns;
      now = *effects_.next;
      tell(Tick{});
    }
    wall.ns += (next - now).ns;
    now = next;
    for (std::size_t b = 0; b < job_->polls.blocks.size(); ++b) tell(scan(b));
    answer_of_module();
  }
}

std::string Site::act(const Wish& wish) {
  const Effects& effects = tell(Action{.what = wish.what, .object = wish.object, .value = wish.value, .reason = wish.reason,
                                       .person = wish.by, .second = wish.with, .way = Way::rehearsal,
                                       .seen = state().picture - wish.pictures_old});
  for (const EffectRow& row : effects.rows)
    if (const auto* answer = std::get_if<ActionAnswer>(&row)) return answer->code;
  return "no answer";
}

bool Site::has(const std::string& alarm, Level level) const {
  const auto& open = state().alarms.open;
  return std::any_of(open.begin(), open.end(), [&](const Alarm& each) { return each.subject == alarm && each.level == level; });
}

std::string Site::alarms() const {
  static constexpr const char* levels[] = {"none", "REVIEW", "HOLD", "STOP"};
  std::string text;
  for (const Alarm& alarm : state().alarms.open)
    text += alarm.subject + ": " + levels[static_cast<std::size_t>(alarm.level)] + ", " + std::string(entry_of(alarm.cause).text) + "; ";
  return text;
}

void load_to(Site& site, double part) {
  const Job& job = site.job();
  for (const Jack& jack : job.rig.jacks) {
    const double planned = jack.planned_share.si() * job.plan.column_expected.si();
    site.shows(job.rig.channels[jack.advance.at()].name, part * planned / jack.area.si());
    site.shows(job.rig.channels[jack.stroke_channel->at()].name, 20 * mm + part * 6 * mm);
  }
}

void reset_all(Site& site) {
  site.act({.what = Act::acknowledge});
  site.act({.what = Act::reset, .by = engineer, .with = supervisor});
}

}  // namespace standfast::test
