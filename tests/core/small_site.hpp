// A small rig for tests of values: four jacks on current loops, a point with twin gauges, three points with one, a ram, a
// temperature. Readings come as raw words, at instants that the test moves by hand.
#pragma once

#include <cmath>
#include <string>
#include <vector>

#include "config/depends.hpp"
#include "daemon/core/doubt.hpp"
#include "daemon/core/quantity/evaluate.hpp"
#include "daemon/core/quantity/values.hpp"

namespace standfast::test {

inline constexpr Dimension metres{Base::length, Per::none}, newtons{Base::force, Per::none}, pascals{Base::pressure, Per::none};
inline constexpr double bar = 1e5, mm = 1e-3, kN = 1e3;

// By place in the rig.
enum ChannelPlace : std::uint16_t { P1, P2, P3, P4, G1, G2, G3, G4, G5, S1, T1 };
enum PointPlace : std::uint16_t { HEAD, WEST, EAST, NORTH };
enum JackPlace : std::uint16_t { J1, J2, J3, J4 };

inline Channel pressure_channel(const std::string& name) {
  Channel channel;
  channel.name = name;
  channel.bus = BusId{std::size_t{0}};
  channel.dimension = pascals;
  channel.every = milliseconds(100);
  channel.stale_after = seconds(2);
  channel.frozen_after = seconds(30);
  channel.scale = {.raw_low = 4e-3, .raw_high = 20e-3, .value_low = 0, .value_high = 700 * bar, .loop = true,
                   .counts_per_mA = 1000};
  channel.range_high = 700 * bar;
  channel.accuracy = 1.75 * bar;
  channel.resolution = 0.04375 * bar;
  return channel;
}

// 0.01 mm a count, 0 to 100 mm.
inline Channel gauge_channel(const std::string& name) {
  Channel channel = pressure_channel(name);
  channel.dimension = metres;
  channel.type = RawType::int16;
  channel.scale = {.raw_low = 0, .raw_high = 10000, .value_low = 0, .value_high = 0.1};
  channel.range_high = 0.1;
  channel.accuracy.reset();
  channel.resolution = 0.01 * mm;
  return channel;
}

inline Job small_job() {
  Job job;
  Rig& rig = job.rig;
  rig.buses.emplace_back().name = "wire";
  for (const char* name : {"P1", "P2", "P3", "P4"}) rig.channels.push_back(pressure_channel(name));
  for (const char* name : {"G1", "G2", "G3", "G4", "G5", "S1", "T1"}) rig.channels.push_back(gauge_channel(name));
  Channel& temperature = rig.channels[T1];
  temperature.dimension = {Base::temperature, Per::none};
  temperature.scale = {.raw_low = 0, .raw_high = 1000, .value_low = 273.15, .value_high = 373.15};
  temperature.range_low = 233.15;
  temperature.range_high = 373.15;


  const double shares[] = {0.275, 0.225, 0.275, 0.225};
  const Position at[] = {{-1.35, -0.4}, {1.65, -0.4}, {-1.35, 0.4}, {1.65, 0.4}};
  for (std::uint16_t j = 0; j < 4; ++j) {
    Jack jack;
    jack.name = "J" + std::to_string(j + 1);
    jack.advance = ChannelId{std::size_t{j}};
    jack.area = Area::from_si(0.0126);
    jack.rated = Force::from_si(886 * kN);
    jack.planned_share = Ratio::from_si(shares[j]);
    jack.stroke_limit = Length::from_si(0.1);
    jack.at = at[j];
    rig.jacks.push_back(jack);
  }
  rig.jacks[J1].stroke_channel = ChannelId{std::size_t{S1}};
  rig.groups.push_back({"WEST", {JackId{std::size_t{J1}}, JackId{std::size_t{J3}}}, {}});
  Circuit& circuit = rig.circuits.emplace_back();
  circuit.name = "A";
  circuit.jacks = {JackId{std::size_t{J1}}, JackId{std::size_t{J2}}};
  circuit.supply = ChannelId{std::size_t{P3}};

  const auto id = [](std::size_t n) { return ChannelId{n}; };
  rig.points = {{"HEAD", {id(G1), id(G2)}, Length::from_si(0.15 * mm), true, Position{0, 4}, {}},
                {"WEST", {id(G3)}, {}, true, Position{0, 0}, {}},
                {"EAST", {id(G4)}, {}, false, Position{3, 0}, {}},
                {"NORTH", {id(G5)}, {}, true, Position{3, 4}, {}}};
  job.plan.column_expected = Force::from_si(1860 * kN);
  job.polls.blocks.resize(2);
  for (int c = 0; c < 4; ++c) job.polls.blocks[0].channels.push_back({id(static_cast<std::size_t>(c)), c});
  for (int c = 4; c < 11; ++c) job.polls.blocks[1].channels.push_back({id(static_cast<std::size_t>(c)), c - 4});
  return job;
}

inline QuantityRef of(QuantityKind kind, std::vector<std::uint16_t> subjects = {}, Since since = Since::baseline) {
  QuantityRef ref;
  ref.kind = kind;
  ref.subjects = std::move(subjects);
  ref.since = since;
  ref.dimension = {entry_of(kind).base.value_or(Base::length), kind == QuantityKind::creep ? Per::decade : Per::none};
  return ref;
}

inline QuantityRef rate_of(QuantityRef ref, Duration over) {
  ref.rate = true;
  ref.over = over;
  ref.dimension.per = Per::second;
  return ref;
}

inline Reading good(double si, Dimension dimension, double uncertainty = 0, Instant at = {}) {
  return {Quality::good, Cause::none, {dimension, si}, uncertainty, Saturation::none, false, at, at};
}

inline bool equal(Amount a, Amount b) { return !exceeds(a, b) && !exceeds(b, a); }
inline bool equal(const Judged& value, double si) {
  return value.high.has_number() && value.low.has_number() && equal(value.high.value, {value.high.value.dimension, si}) &&
         equal(value.low.value, {value.low.value.dimension, si});
}

struct SmallSite {
  Job job = small_job();
  Values values = start_values(job);
  Instant now{};
  WallTime wall{};
  Progress progress{};
  Words pressures{4000, 4000, 4000, 4000};          // uA.
  Words gauges{5000, 5000, 5000, 5000, 5000, 1000, 200};  // Counts; the last is 20 degrees Celsius.

  void restart() { values = start_values(job); }
  void wait(Duration d) {
    now = now + d;
    age_channels(values.channels, now);
  }
  void scan(std::size_t block, std::variant<Words, Bits, std::string> raw, Flaw flaw = Flaw::none) {
    take_scan(values, job, Scan{BlockId{block}, now, std::move(raw), flaw}, {now, wall}, progress);
  }
  void read() {
    scan(0, pressures);
    scan(1, gauges);
  }
  void read_for(Duration d, Duration every = milliseconds(100)) {
    for (const Instant end = now + d; now < end;) {
      wait(every);
      read();
    }
  }
  void lose(std::size_t block, Flaw flaw) { scan(block, Words{}, flaw); }
  void set_pressure(std::uint16_t jack, double in_bar) {
    pressures[jack] = static_cast<std::uint16_t>(std::lround(4000 + in_bar / 700 * 16000));
  }
  void set_gauge(std::uint16_t place, int counts) {
    gauges[static_cast<std::size_t>(place - G1)] = static_cast<std::uint16_t>(counts);
  }
  void start_stage() {
    progress.stage = StageId{std::size_t{0}};
    values.references.stage_starts.assign(1, mark_of_now(context()));
  }
  void take_baseline() { values.references.baseline = mark_of_now(context()); }

  ValueContext context(Take take = Take::as_read) const { return {job, values, progress, now, take}; }
  Judged value(const QuantityRef& ref) const { return evaluate(ref, context()); }
  const Reading& channel(std::uint16_t place) const { return values.channels[place].reading; }
};

}  // namespace standfast::test
