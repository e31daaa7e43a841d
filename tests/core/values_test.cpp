#include "daemon/core/quantity/values.hpp"

#include <catch2/catch.hpp>

#include "daemon/core/state_text.hpp"
#include "tests/core/small_site.hpp"

using namespace standfast;
using namespace standfast::test;

namespace {

const QuantityRef rate = rate_of(of(QuantityKind::movement, {HEAD}), seconds(30));

SmallSite at_work() {
  SmallSite site;
  site.job.plan.stages.resize(1);
  for (const QuantityRef& quantity : {rate, of(QuantityKind::creep, {HEAD}), of(QuantityKind::stiffness_ratio, {J1})}) {
    Limit limit;
    limit.of = quantity;
    site.job.plan.stages[0].limits.push_back(limit);
  }
  site.job.plan.marks = {{"BEFORE CUT", StageId{std::size_t{0}}, seconds(10)}};
  site.job.rig.channels[G3].median = 3;
  site.restart();
  site.set_pressure(J1, 350);
  site.read();
  site.take_baseline();
  site.values.references.marks[0] = mark_of_now(site.context());
  site.progress.reached = site.now;
  for (int i = 0; i < 100; ++i) {
    site.set_gauge(S1, 1000 + 10 * i);
    site.read_for(seconds(1), seconds(1));
  }
  site.lose(0, Flaw::no_answer);
  return site;
}

std::string text_of(Values values) {
  StateWriter writer;
  writer("values", values);
  return writer.text();
}

bool is_kept(const Values& values, std::uint16_t channel) { return values.references.baseline.channels[channel].has_value(); }

}  // namespace

TEST_CASE("all that is known of values goes through text and back, field by field") {
  const SmallSite site = at_work();
  const std::string text = text_of(site.values);
  Values back;
  StateReader reader{text};
  reader("values", back);
  CHECK(reader.error() == "");
  CHECK(text_of(back) == text);
}

TEST_CASE("values read back go on exactly as those they came from") {
  SmallSite site = at_work(), other = site;
  const std::string text = text_of(site.values);
  StateReader reader{text};
  reader("values", other.values);
  site.read_for(seconds(20), milliseconds(700));
  other.read_for(seconds(20), milliseconds(700));
  CHECK(text_of(site.values) == text_of(other.values));
}

TEST_CASE("another revision of the plan keeps readings, marks and windows") {
  const SmallSite site = at_work();
  Job amended = site.job;
  amended.plan.marks.insert(amended.plan.marks.begin(), Mark{"NEW", StageId{std::size_t{0}}, seconds(5)});
  const Values values = carry_over(site.values, site.job, amended);
  CHECK(is_kept(values, G1));
  CHECK_FALSE(values.references.marks[0].channels.size());
  CHECK(values.references.marks[1].channels[G1]);
  CHECK(values.windowed[0].slopes[0].samples.size() == 31);
  CHECK(values.channels[G1].reading.value.si == site.values.channels[G1].reading.value.si);
  CHECK(values.channels[P1].lost == 1);
}

TEST_CASE("channels keep what they know when they change their place in the rig") {
  const SmallSite site = at_work();
  Job moved = site.job;
  moved.rig_sha256 = "another";
  std::swap(moved.rig.channels[G1], moved.rig.channels[G3]);
  const Values values = carry_over(site.values, site.job, moved);
  CHECK(values.channels[G3].reading.value.si == site.values.channels[G1].reading.value.si);
  CHECK(is_kept(values, G1));
  CHECK(values.windowed[0].slopes[0].samples.empty());  // They name gauges by place.
  REQUIRE(values.channels[G3].partners.empty());        // HEAD names its gauges by place too: G1's old place is its gauge still.
  CHECK(values.channels[G1].partners.size() == 1);
}

TEST_CASE("an instrument that is scaled anew loses what was read and marked by the old scale") {
  const SmallSite site = at_work();
  Job rescaled = site.job;
  rescaled.rig_sha256 = "another";
  rescaled.rig.channels[G1].scale.value_high = 0.2;
  rescaled.rig.jacks[J2].area = Area::from_si(0.02);
  const Values values = carry_over(site.values, site.job, rescaled);
  CHECK(values.channels[G1].reading.cause == Cause::never_read);
  CHECK_FALSE(is_kept(values, G1));
  CHECK(is_kept(values, G2));
  CHECK(values.references.baseline.loads[J1]);
  CHECK_FALSE(values.references.baseline.loads[J2]);
}

TEST_CASE("a jack with another certificate loses the load marks taken by the old one") {
  const SmallSite site = at_work();
  Job recalibrated = site.job;
  recalibrated.rig_sha256 = "another";
  recalibrated.rig.jacks[J1].rising = {{Pressure::from_si(100 * bar), Force::from_si(125 * kN)}};
  const Values values = carry_over(site.values, site.job, recalibrated);
  CHECK_FALSE(values.references.baseline.loads[J1]);
  CHECK(values.references.baseline.loads[J3]);
}

TEST_CASE("an instrument of another name starts anew") {
  const SmallSite site = at_work();
  Job renamed = site.job;
  renamed.rig_sha256 = "another";
  renamed.rig.channels[G1].name = "G9";
  CHECK_FALSE(is_kept(carry_over(site.values, site.job, renamed), G1));
}

TEST_CASE("a jack knows which way it last went") {
  SmallSite site;
  site.set_pressure(J1, 350);
  site.read();
  CHECK(site.values.jacks[J1].direction == Direction::rising);
  site.set_pressure(J1, 300);
  site.read_for(milliseconds(100));
  CHECK(site.values.jacks[J1].direction == Direction::falling);
  CHECK(site.values.jacks[J2].direction == Direction::rising);
}

TEST_CASE("a ram that stands still is frozen, whatever milder doubt it bears beside it") {
  SmallSite site;
  Channel& ram = site.job.rig.channels[S1];
  ram.scale = {.raw_low = 4e-3, .raw_high = 20e-3, .value_low = 0, .value_high = 0.1, .loop = true, .counts_per_mA = 1000};
  ram.type = RawType::uint16;
  site.gauges[5] = 3700;
  site.set_pressure(J1, 100);
  site.progress.oil_flows = true;
  site.restart();
  site.read();
  REQUIRE(site.channel(S1).cause == Cause::loop_under_range);
  for (int at = 100; at <= 300; at += 10) {
    site.set_pressure(J1, at);
    site.read_for(seconds(5));
  }
  CHECK(site.channel(S1).cause == Cause::frozen);
}
