// No noise that a gauge states is a lone step.
#include <catch2/catch.hpp>

#include "daemon/core/step_watch.hpp"
#include "tests/core/small_site.hpp"
#include "tests/support/steady_random.hpp"

namespace standfast::test {

// The noise of each reading is normal, with the standard deviation that the channel states.
TEST_CASE("24 hours of twenty gauges at 10 Hz with the noise they state raise no doubt") {
  Job job;
  for (int c = 0; c < 20; ++c) {
    Channel gauge = gauge_channel("G" + std::to_string(c));
    gauge.accuracy = 0.05 * mm;
    job.rig.channels.push_back(gauge);
    job.rig.points.push_back({"X" + std::to_string(c), {ChannelId{static_cast<std::size_t>(c)}}, {}, true, {}, {}});
  }
  job.polls.blocks.resize(1);
  for (int c = 0; c < 20; ++c) job.polls.blocks[0].channels.push_back({ChannelId{static_cast<std::size_t>(c)}, c});
  Values values = start_values(job);
  values.references.baseline.channels.assign(20, MarkValue{});
  const StepsWithin within{values.references.baseline, false, {}};

  SteadyRandom random{20};
  const auto bell = [&] {
    double radius = 0, u = 0, v = 0;
    do {
      u = random.between(-1, 1);
      v = random.between(-1, 1);
      radius = u * u + v * v;
    } while (radius >= 1 || radius == 0);
    return u * std::sqrt(-2 * std::log(radius) / radius);  // Marsaglia and Bray, 1964: the polar method.
  };
  int doubted = 0, leaps = 0;
  Instant now{};
  for (int reading = 0; reading < 864'000; ++reading) {
    now = now + milliseconds(100);
    for (ChannelState& state : values.channels) {
      state.earlier = state.reading;
      state.reading = good(50 * mm, metres, 0.0290 * mm, now);
      state.reading.value.si += 0.0290 * mm * bell();
      state.steadied = state.reading;
    }
    watch_steps(values.channels, job, Scan{BlockId{std::size_t{0}}, now, Words(20), Flaw::none}, within);
    for (const ChannelState& state : values.channels) {
      doubted += state.reading.cause == Cause::lone_step ? 1 : 0;
      const double change = std::abs(state.reading.value.si - state.earlier.value.si);
      leaps += state.earlier.has_number() && change > 5 * std::sqrt(2) * 0.0290 * mm ? 1 : 0;
    }
  }
  CHECK(doubted == 0);
  CHECK(leaps > 0);  // Single readings leap as far: 10 are to be expected.
}

}  // namespace standfast::test
