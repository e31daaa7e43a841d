#include "tools/rehearse/run.hpp"

#include <algorithm>

#include "daemon/core/engine.hpp"
#include "tools/rehearse/expecting.hpp"
#include "tools/rehearse/module.hpp"
#include "tools/rehearse/wire.hpp"

namespace standfast::rehearse {
namespace {

constexpr Duration module_every = milliseconds(100);
constexpr std::int64_t wall_at_start = 1'800'000'000'000'000'000;  // Some day: rehearsals need one, none matters.

// splitmix64, by S. Vigna, public domain: the same seed gives the same noise on every machine.
struct Noise {
  std::uint64_t state;
  double next() {  // Uniform in -1 to 1.
    std::uint64_t z = (state += 0x9e3779b97f4a7c15u);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return static_cast<double>((z ^ (z >> 31)) >> 11) / 4503599627370496.0 - 1.0;
  }
};

// One thing after the other: the stage is the whole chain, each part begins where the one before ended.
class Stage {
 public:
  Stage(const Prepared& prepared, const Seen& seen) : job_{*prepared.job}, seen_{seen}, module_{job_.rig}, due_(job_.polls.blocks.size()) {
    inputs_.assign(job_.rig.inputs.size(), false);
    tell(Started{"rehearsal", "rehearsal", true});
    tell(JobInForce{prepared.job});
  }

  void play(const Prepared::Part& part, Outcome& outcome) {
    Expecting expecting(part, engine_.state(), outcome);
    noise_.state = part.rehearsal.seed;
    start_ = now_;
    const Instant end = now_ + part.rehearsal.lasts;
    next_act_ = next_module_ = next_input_ = 0;
    sort(part.rehearsal);
    while (now_ < end) {
      const Instant at = std::min(next_instant(part.rehearsal), end);
      expecting.before(at - start_, effects_);
      now_ = at;
      if (now_ >= end) break;
      do_all_due(part.rehearsal, expecting);
    }
    now_ = end;
    tell(Tick{});
    expecting.before(part.rehearsal.lasts + nanoseconds(1), effects_);
    expecting.ended();
  }

 private:
  // File order counts among equals.
  void sort(const Rehearsal& rehearsal) {
    order_.acts = ordered(rehearsal.acts);
    order_.module = ordered(rehearsal.module);
    order_.inputs = ordered(rehearsal.inputs);
  }
  template <class T>
  static std::vector<std::size_t> ordered(const std::vector<T>& things) {
    std::vector<std::size_t> places(things.size());
    for (std::size_t i = 0; i < places.size(); ++i) places[i] = i;
    std::stable_sort(places.begin(), places.end(), [&](std::size_t a, std::size_t b) { return things[a].at < things[b].at; });
    return places;
  }

  void tell(decltype(Event::what) what) {
    const Event event{now_, WallTime{wall_at_start + now_.ns}, std::move(what)};
    effects_ = engine_.apply(event);
    if (seen_) seen_(event, effects_);
  }

  Instant next_instant(const Rehearsal& rehearsal) const {
    Instant next = module_due_;
    for (const Instant due : due_) next = std::min(next, due);
    if (effects_.next) next = std::min(next, *effects_.next);
    if (next_act_ < order_.acts.size()) next = std::min(next, start_ + rehearsal.acts[order_.acts[next_act_]].at);
    if (next_module_ < order_.module.size()) next = std::min(next, start_ + rehearsal.module[order_.module[next_module_]].at);
    if (next_input_ < order_.inputs.size()) next = std::min(next, start_ + rehearsal.inputs[order_.inputs[next_input_]].at);
    return std::max(next, now_);
  }

  void do_all_due(const Rehearsal& rehearsal, Expecting& expecting) {
    const auto due = [&](Duration at) { return start_ + at <= now_; };
    while (next_module_ < order_.module.size() && due(rehearsal.module[order_.module[next_module_]].at))
      module_.meet(rehearsal.module[order_.module[next_module_++]]);
    while (next_input_ < order_.inputs.size() && due(rehearsal.inputs[order_.inputs[next_input_]].at)) {
      const InputChange& change = rehearsal.inputs[order_.inputs[next_input_++]];
      inputs_[change.input.at()] = change.happens;
    }
    for (std::size_t b = 0; b < due_.size(); ++b)
      if (due_[b] <= now_) {
        due_[b] = now_ + job_.polls.blocks[b].every;
        tell(scan(rehearsal, b));
      }
    if (module_due_ <= now_) {
      module_due_ = now_ + module_every;
      if (job_.rig.output_module) tell(module_.exchange(effects_.wanted, effects_.withhold_heartbeat, now_));
    }
    while (next_act_ < order_.acts.size() && due(rehearsal.acts[order_.acts[next_act_]].at)) {
      const PlannedAct& act = rehearsal.acts[order_.acts[next_act_++]];
      Action action = act.action;
      action.seen = expecting.picture();
      tell(action);
      expecting.answered(act, effects_);
    }
    if (effects_.next && *effects_.next <= now_) tell(Tick{});
  }

  Scan scan(const Rehearsal& rehearsal, std::size_t place) {
    const Block& block = job_.polls.blocks[place];
    Scan scan{.block = BlockId{place}, .taken_at = now_};
    if (block.table == Table::coil || block.table == Table::discrete_input) {
      Bits bits(static_cast<std::size_t>(block.count), 0);
      for (const auto& input : block.inputs)
        bits[static_cast<std::size_t>(input.offset)] = inputs_[input.input.at()] != job_.rig.inputs[input.input.at()].normally_closed;
      scan.raw = std::move(bits);
      return scan;
    }
    Words words(static_cast<std::size_t>(block.count), 0);
    for (const auto& channel : block.channels) {
      const Shown shown = shows(rehearsal, channel.channel);
      if (shown.shape == Shape::missing) {
        scan.raw = Words{};
        scan.flaw = Flaw::no_answer;
        return scan;
      }
      const auto encoded = words_for(job_.rig.channels[channel.channel.at()], shown);
      std::copy(encoded.begin(), encoded.end(), words.begin() + channel.offset);
    }
    scan.raw = std::move(words);
    return scan;
  }

  // What no series says stands at the low end of its scale... of nought where that lies inside the range.
  Shown shows(const Rehearsal& rehearsal, ChannelId channel) {
    const auto series = std::find_if(rehearsal.channels.begin(), rehearsal.channels.end(),
                                     [&](const ChannelSeries& s) { return s.channel == channel; });
    const Channel& stated = job_.rig.channels[channel.at()];
    if (series == rehearsal.channels.end()) return {Shape::still, std::clamp(0.0, stated.range_low, stated.range_high)};
    Shown shown = shown_at(series->series, now_ - start_);
    if (series->noise > 0) shown.value += series->noise * noise_.next();
    return shown;
  }

  const Job& job_;
  const Seen& seen_;
  Engine engine_;
  Effects effects_;
  Module module_;
  std::vector<Instant> due_;
  std::vector<bool> inputs_;
  Instant now_{}, start_{}, module_due_{};
  std::size_t next_act_{0}, next_module_{0}, next_input_{0};
  struct { std::vector<std::size_t> acts, module, inputs; } order_;
  Noise noise_{0};
};

}  // namespace

Outcome run(const Prepared& prepared, const Seen& seen) {
  Outcome outcome{.title = prepared.parts.back().rehearsal.title};
  Stage stage(prepared, seen);
  for (const Prepared::Part& part : prepared.parts) {
    stage.play(part, outcome);
    if (!outcome.failing.empty()) break;  // What follows from something that did not go as written says nothing.
  }
  return outcome;
}

}  // namespace standfast::rehearse
