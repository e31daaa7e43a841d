#include "tools/rig/commands.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "tools/rig/plant.hpp"
#include "tools/rig/pump_order.hpp"
#include "tools/rig/state_text.hpp"
#include "tools/rig/wire_commands.hpp"
#include "tools/rig/words.hpp"

namespace standfast::rig {
namespace {

// Each verb reads its line to the end before it does anything: what is refused has changed nothing.

constexpr Dimension length{Base::length}, force{Base::force};
constexpr Dimension pressure_rate{Base::pressure, Per::second};

std::optional<ChannelId> channel_named(const Plant& plant, const std::string& name) {
  const auto& all = plant.rig().channels;
  const auto found = std::find_if(all.begin(), all.end(), [&](const Channel& c) { return c.name == name; });
  if (found == all.end()) return std::nullopt;
  return ChannelId{static_cast<std::size_t>(found - all.begin())};
}

ChannelId channel_next(Plant& plant, WordReader& words) {
  const std::string name = words.next("a channel");
  const auto channel = channel_named(plant, name);
  if (!channel) throw Refusal{"there is no channel " + name};
  return *channel;
}

std::optional<std::size_t> leg_named(Plant& plant, const std::string& name) {
  const auto jack = jack_named(plant.rig(), name);
  if (!jack) return std::nullopt;
  return plant.instruments().leg_of(*jack);
}

std::size_t leg_next(Plant& plant, WordReader& words) {
  const std::string name = words.next("a jack");
  const auto leg = leg_named(plant, name);
  if (!leg) throw Refusal{"there is no jack " + name};
  return *leg;
}

std::string raise(Plant& plant, WordReader& words) { return start_pump(plant, words, Direction::raise); }
std::string lower(Plant& plant, WordReader& words) { return start_pump(plant, words, Direction::lower); }

std::string stop(Plant& plant, WordReader& words) {
  words.must("pump");
  words.must_end();
  plant.pump().stop();
  return "the pump stands, pressure is kept";
}

std::string gauge(Plant& plant, WordReader& words) {
  const ChannelId channel = channel_next(plant, words);
  InstrumentFault fault = plant.instruments().fault(channel);
  const Dimension dimension{plant.rig().channels[channel.at()].dimension.base};
  const bool warm = dimension.base == Base::temperature;
  const Dimension step{warm ? Base::temperature_difference : dimension.base};
  const auto factor_next = [&words](const char* of) {
    const auto factor = parse_number(words.next("a factor"));
    if (!factor || *factor < 0) throw Refusal{std::string{"the factor "} + of + " must be a number not below 0"};
    return *factor;
  };
  if (words.take("stuck")) fault.stuck = true;
  else if (words.take("reversed")) fault.reversed = true;
  else if (words.take("factor")) fault.factor = factor_next("of its unit");
  else if (words.take("shorted")) {
    if (!plant.rig().channels[channel.at()].scale.loop) throw Refusal{"only a current loop is shorted"};
    fault.shorted = true;
  }
  else if (words.take("unplugged")) fault.unplugged = true;
  else if (words.take("knocked")) fault.knocked += words.amount(step);
  else if (words.take("drifting")) fault.drift_per_second = words.amount({step.base, Per::second});
  else if (words.take("noisy")) fault.noise_factor = factor_next("of the noise");
  else throw Refusal{"'" + words.peek() + "' is not stuck, unplugged, shorted, reversed, factor, knocked, drifting or noisy"};
  words.must_end();
  plant.instruments().fault(channel) = fault;
  return plant.rig().channels[channel.at()].name;
}

std::string leak(Plant& plant, WordReader& words) {
  const std::size_t leg = leg_next(plant, words);
  const double rate = words.amount(pressure_rate);
  if (rate < 0) throw Refusal{"a leak lets oil out only"};
  words.must_end();
  plant.site().set_leak(leg, rate);
  return "leaking";
}

std::string cross(Plant& plant, WordReader& words) {
  const ChannelId one = channel_next(plant, words), other = channel_next(plant, words);
  words.must_end();
  const auto base = [&plant](ChannelId id) { return plant.rig().channels[id.at()].dimension.base; };
  if (one == other || base(one) != base(other)) throw Refusal{"two channels of one kind can be crossed"};
  if (plant.instruments().is_crossed(one) || plant.instruments().is_crossed(other)) throw Refusal{"they are crossed already"};
  plant.instruments().cross(one, other);
  return "crossed";
}

std::string hose(Plant& plant, WordReader& words) {
  words.must("burst");
  words.must_end();
  plant.pump().burst_hose(true);
  return "the pump delivers nothing";
}

// Common practice, no source: through a coupler that is half screwed on, oil comes at a few bar a minute.
std::string coupler(Plant& plant, WordReader& words) {
  const std::size_t leg = leg_next(plant, words);
  words.must("half");
  words.must("open");
  words.must_end();
  plant.pump().choke(leg, 5e3);
  return "the oil comes late";
}

std::string return_line(Plant& plant, WordReader& words) {
  const std::string name = words.next("a jack");
  const auto jack = jack_named(plant.rig(), name);
  words.must("blocked");
  words.must_end();
  if (!jack || !plant.rig().jacks[jack->at()].retract_area) throw Refusal{"there is no double-acting jack " + name};
  plant.site().block_return(plant.instruments().leg_of(*jack), plant.rig().jacks[jack->at()].retract_area->si());
  return "the rod side is shut";
}

std::string mend(Plant& plant, WordReader& words) {
  const std::string name = words.next("what to mend");
  words.must_end();
  if (const auto channel = channel_named(plant, name)) {
    plant.instruments().mend(*channel);
  } else if (const auto leg = leg_named(plant, name)) {
    plant.site().set_leak(*leg, 0);
    plant.site().open_return(*leg);
    plant.pump().choke(*leg, {});
  } else if (name == "hose") {
    plant.pump().burst_hose(false);
  } else if (!mend_wire_or_contact(plant, name)) {
    throw Refusal{"there is no channel, jack, wire or output " + name};
  }
  return name + " mended";
}

// The whole change comes evenly over the time stated, or within two hundredths of a second.
void add_ramp(Plant& plant, WordReader& words, Ramp ramp) {
  Duration over = milliseconds(20);
  if (words.take("over")) over = words.duration();
  if (over.ns <= 0) throw Refusal{"the time must be above 0"};
  ramp.per_second = ramp.left / over.seconds();
  words.must_end();
  plant.add_ramp(ramp);
}

std::string head(Plant& plant, WordReader& words) {
  if (words.take("let")) {
    words.must("go");
    words.must_end();
    plant.let_head_go();
    return "the head is free";
  }
  words.must("pushed");
  add_ramp(plant, words, {Ramp::What::head, 0, words.amount(length)});
  return "the head is pushed";
}

std::string weight(Plant& plant, WordReader& words) {
  add_ramp(plant, words, {Ramp::What::weight, 0, words.amount(force)});
  return "the weight changes";
}

std::string base(Plant& plant, WordReader& words) {
  const std::size_t leg = leg_next(plant, words);
  words.must("sinks");
  add_ramp(plant, words, {Ramp::What::base, leg, words.amount(length)});
  return "the ground gives way";
}

std::string site(Plant& plant, WordReader& words) {
  words.must("stop");
  const bool pressed = words.take("pressed");
  if (!pressed) {
    words.must("let");
    words.must("go");
  }
  words.must_end();
  plant.press_site_stop(pressed);
  return "the stop button at the site";
}

std::string mains(Plant& plant, WordReader& words) {
  const bool back = words.take("back");
  if (!back) words.must("off");
  words.must_end();
  plant.set_mains(back);
  return "mains";
}

struct Verb {
  std::string_view word;
  std::string (*obey)(Plant&, WordReader&);
};
constexpr std::array<Verb, 22> verbs{{{"raise", raise}, {"pump", raise}, {"lower", lower}, {"stop", stop},
                                      {"gauge", gauge}, {"channel", gauge}, {"leak", leak}, {"mend", mend}, {"cross", cross},
                                      {"hose", hose}, {"coupler", coupler}, {"return", return_line},
                                      {"head", head}, {"weight", weight}, {"base", base}, {"module", module},
                                      {"unit", unit}, {"wire", wire}, {"contact", contact},
                                      {"second", second}, {"site", site}, {"mains", mains}}};

std::string obey_words(Plant& plant, WordReader& words) {
  const std::string first = words.next("a command");
  const auto verb = std::find_if(verbs.begin(), verbs.end(), [&](const Verb& v) { return v.word == first; });
  if (verb == verbs.end()) throw Refusal{"'" + first + "' is no command; `help` lists them"};
  return verb->obey(plant, words);
}

}  // namespace

std::string obey_command(Plant& plant, const std::string& line) {
  try {
    WordReader words{line};
    if (words.take("state")) {
      words.must_end();
      return state_line(plant);
    }
    if (words.take("help")) {
      words.must_end();
      return help_text();
    }
    return "done: " + obey_words(plant, words);
  } catch (const Refusal& refusal) {
    return "refused: " + refusal.why;
  }
}

}  // namespace standfast::rig
