// Which channels stand behind a quantity: the list that says what is fresh and what is needed, held against the value itself.
#include "config/depends.hpp"

#include <catch2/catch.hpp>

#include <algorithm>

#include "tests/core/small_site.hpp"

using namespace standfast;
using namespace standfast::test;

namespace {

using Kind = QuantityKind;

SmallSite measured() {
  SmallSite site;
  Step step;
  step.targets = {{JackId{std::size_t{J1}}, Force::from_si(400 * kN), Force::from_si(400 * kN)}};
  step.predicted = {{JackId{std::size_t{J1}}, Length::from_si(6 * mm), Length::from_si(1 * mm)}};
  site.job.plan.stages.resize(1);
  site.job.plan.stages[0].steps = {step};
  site.restart();
  for (std::uint16_t jack = J1; jack <= J4; ++jack) site.set_pressure(jack, 100);
  site.progress.pump_runs = false;
  site.read();
  site.take_baseline();
  return site;
}

bool has_value_without(const QuantityRef& quantity, std::size_t channel) {
  SmallSite site = measured();
  site.values.channels[channel].reading = bad_reading(Cause::no_answer, site.job.rig.channels[channel].dimension, site.now);
  return site.value(quantity).high.quality != Quality::bad;
}

}  // namespace

TEST_CASE("a quantity is without a value where one of the channels behind it is, and where no other is") {
  const std::vector<QuantityRef> quantities{
      of(Kind::pressure, {J1}), of(Kind::load, {J2}), of(Kind::circuit_load, {0}), of(Kind::group_load, {0}), of(Kind::total_load),
      of(Kind::share, {J1}), of(Kind::transferred), of(Kind::movement, {WEST}), of(Kind::differential, {WEST, EAST}),
      of(Kind::tilt, {WEST, EAST, NORTH}), of(Kind::travel, {J1}), of(Kind::travel_left, {J1}), of(Kind::load_lost, {J1}),
      of(Kind::predicted_departure, {J1}), of(Kind::agreement, {HEAD}), of(Kind::pressure_spread, {0}), of(Kind::supply, {0}),
      of(Kind::temperature, {T1}), of(Kind::temperature_change, {T1}), of(Kind::channel, {G3})};
  for (const QuantityRef& quantity : quantities) {
    const std::vector<ChannelId> behind = channels_of(quantity, small_job().rig);
    REQUIRE(measured().value(quantity).high.quality != Quality::bad);
    for (std::size_t c = 0; c < small_job().rig.channels.size(); ++c) {
      INFO(entry_of(quantity.kind).name << " without channel " << c);
      const bool is_behind = std::find(behind.begin(), behind.end(), ChannelId{c}) != behind.end();
      CHECK(has_value_without(quantity, c) != is_behind);
    }
  }
}
