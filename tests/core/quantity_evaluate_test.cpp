#include "daemon/core/quantity/evaluate.hpp"

#include <catch2/catch.hpp>

#include "tests/core/small_site.hpp"

using namespace standfast;
using namespace standfast::test;

namespace {

using Kind = QuantityKind;

const QuantityRef head = of(Kind::movement, {HEAD});

SmallSite with_baseline() {
  SmallSite site;
  for (std::uint16_t jack = J1; jack <= J4; ++jack) site.set_pressure(jack, 105);
  site.read();
  site.take_baseline();
  return site;
}

// A plan with one limit on each of these.
SmallSite watching(std::vector<QuantityRef> quantities) {
  SmallSite site;
  site.job.plan.stages.resize(1);
  for (QuantityRef& quantity : quantities) {
    Limit limit;
    limit.of = std::move(quantity);
    site.job.plan.stages[0].limits.push_back(limit);
  }
  site.restart();
  return site;
}

// Each gauge of HEAD goes up one count a second for so long.
void lift_head(SmallSite& site, int for_seconds) {
  for (int i = 0; i < for_seconds; ++i) {
    site.wait(seconds(1));
    site.set_gauge(G1, 5000 + i);
    site.set_gauge(G2, 5007 + i);
    site.read();
  }
}

}  // namespace

TEST_CASE("each quantity of the dictionary has its value") {
  SmallSite site = with_baseline();
  const std::uint16_t west_group = 0, circuit_a = 0;
  for (std::uint16_t jack = J1; jack <= J4; ++jack) site.set_pressure(jack, 175);
  site.set_gauge(G1, 5010);
  site.set_gauge(G2, 5012);
  site.set_gauge(G3, 5004);
  site.set_gauge(G4, 4990);
  site.set_gauge(G5, 5001);
  site.set_gauge(S1, 1250);
  site.set_gauge(T1, 215);
  site.wait(milliseconds(100));
  site.read();
  const double load = 175 * bar * 0.0126;

  CHECK(equal(site.value(of(Kind::pressure, {J1})), 175 * bar));
  CHECK(equal(site.value(of(Kind::load, {J1})), load));
  CHECK(equal(site.value(of(Kind::circuit_load, {circuit_a})), 2 * load));
  CHECK(equal(site.value(of(Kind::group_load, {west_group})), 2 * load));
  CHECK(equal(site.value(of(Kind::total_load)), 4 * load));
  CHECK(equal(site.value(of(Kind::share, {J1})), 0.25));
  QuantityRef departure_of_share = of(Kind::share, {J1});
  departure_of_share.from_planned = true;
  CHECK(equal(site.value(departure_of_share), 0.25 - 0.275));
  CHECK(equal(site.value(of(Kind::transferred)), 4 * load / (1860 * kN)));
  CHECK(equal(site.value(head).high.value, {metres, 0.12 * mm}));
  CHECK(equal(site.value(head).low.value, {metres, 0.10 * mm}));
  CHECK(equal(site.value(of(Kind::movement, {EAST})), 0.10 * mm));  // Counts downwards.
  CHECK(equal(site.value(of(Kind::differential, {WEST, EAST})), -0.06 * mm));
  CHECK(site.value(of(Kind::tilt, {WEST, EAST, NORTH})).high.value.si == Approx(std::sqrt(0.02 * 0.02 + 0.0225 * 0.0225) * mm));
  const Judged warped = site.value(of(Kind::warp, {WEST, EAST, NORTH, HEAD}));
  CHECK(equal(warped.high.value, {metres, -0.15 * mm}));  // (0.04 + 0.01) - (0.10 + 0.10) with the lower gauge of HEAD.
  CHECK(equal(warped.low.value, {metres, -0.17 * mm}));
  CHECK(equal(site.value(of(Kind::travel, {J1})), 2.5 * mm));
  CHECK(equal(site.value(of(Kind::travel_left, {J1})), 87.5 * mm));
  CHECK(equal(site.value(of(Kind::load_lost, {J1})), -70 * bar * 0.0126));
  CHECK(equal(site.value(of(Kind::temperature, {T1})), 294.65));
  CHECK(equal(site.value(of(Kind::temperature_change, {T1})), 1.5));
  CHECK(equal(site.value(of(Kind::agreement, {HEAD})), 0.02 * mm));
  CHECK(equal(site.value(of(Kind::channel, {G3})), 50.04 * mm));
  CHECK(equal(site.value(of(Kind::pressure_spread, {circuit_a})), 0));
  site.set_pressure(J2, 182);  // A whole number of counts.
  site.read();
  CHECK(equal(site.value(of(Kind::pressure_spread, {circuit_a})), 7 * bar));
}

TEST_CASE("movement before its mark is taken has no value") {
  SmallSite site;
  site.read();
  CHECK(site.value(head).high.cause == Cause::mark_missing);
  QuantityRef since_mark = head;
  since_mark.since = Since::mark;
  since_mark.mark = 3;
  CHECK(site.value(since_mark).high.cause == Cause::mark_missing);
}

TEST_CASE("movement counts from whatever the plan names") {
  SmallSite site = with_baseline();
  site.set_gauge(G3, 5010);
  site.read_for(milliseconds(100));
  site.start_stage();
  site.set_gauge(G3, 5015);
  site.read_for(milliseconds(100));
  CHECK(equal(site.value(of(Kind::movement, {WEST})), 0.15 * mm));
  CHECK(equal(site.value(of(Kind::movement, {WEST}, Since::stage_start)), 0.05 * mm));
}

TEST_CASE("gauges further apart than they may be make their point uncertain") {
  SmallSite site = with_baseline();
  site.set_gauge(G1, 5015);
  site.read_for(milliseconds(100));
  CHECK(site.value(head).high.quality == Quality::good);
  site.set_gauge(G1, 5016);
  site.read_for(milliseconds(100));
  CHECK(site.value(head).high.cause == Cause::twins_disagree);
  CHECK(movement_of(PointId{std::size_t{HEAD}}, Since::baseline, 0, site.context()).mean.cause == Cause::twins_disagree);
}

// The corners of a square of 0.4 m under four gauges, tilting by 1 mm/m: 0.4 mm from side to side, where 0.15 mm is allowed.
TEST_CASE("four gauges whose places are known are compared after the tilt they show; one bad, and they are compared as they read") {
  SmallSite site;
  const auto id = [](std::size_t n) { return ChannelId{n}; };
  site.job.rig.points = {{.name = "HEAD", .gauges = {id(G1), id(G2), id(G3), id(G4)},
                          .agree_within = Length::from_si(0.15 * mm), .up_is_positive = true,
                          .gauges_at = {{-0.2, -0.2}, {0.2, -0.2}, {0.2, 0.2}, {-0.2, 0.2}}}};
  site.restart();
  site.read();
  site.take_baseline();
  for (const auto& [gauge, counts] : {std::pair{G1, 5010}, {G2, 5050}, {G3, 5050}, {G4, 5010}}) site.set_gauge(gauge, counts);
  site.read_for(milliseconds(100));
  CHECK(equal(site.value(of(Kind::agreement, {HEAD})), 0));
  CHECK(site.value(head).high.quality == Quality::good);
  CHECK(equal(site.value(head).high.value, {metres, 0.5 * mm}));  // Compared by its worst gauge as ever.
  site.set_gauge(G3, 5065);
  site.read_for(milliseconds(100));
  CHECK(equal(site.value(of(Kind::agreement, {HEAD})), 0.15 * mm));
  CHECK(site.value(head).high.quality == Quality::good);
  site.set_gauge(G3, 5066);
  site.read_for(milliseconds(100));
  CHECK(site.value(head).high.cause == Cause::twins_disagree);

  site.set_gauge(G3, 5050);
  site.read_for(milliseconds(100));
  site.values.channels[G4].reading = bad_reading(Cause::no_answer, metres, site.now);
  CHECK(equal(site.value(of(Kind::agreement, {HEAD})), 0.4 * mm));
  CHECK(site.value(head).high.cause == Cause::twins_disagree);
}

TEST_CASE("twins are compared since baseline, whatever a quantity counts from") {
  SmallSite site = with_baseline();
  site.set_gauge(G1, 5020);
  site.read_for(milliseconds(100));
  site.start_stage();
  CHECK(site.value(of(Kind::movement, {HEAD}, Since::stage_start)).high.cause == Cause::twins_disagree);
}

TEST_CASE("jacks on one transducer are marked, and that alone is no doubt") {
  SmallSite site;
  site.job.rig.jacks[J2].advance = ChannelId{std::size_t{P1}};
  site.restart();
  site.set_pressure(J1, 100);
  site.read();
  const Judged load = site.value(of(Kind::load, {J2}));
  CHECK(load.high.cause == Cause::shared_transducer);
  CHECK(load.high.quality == Quality::good);
  CHECK(site.value(of(Kind::load, {J3})).high.cause == Cause::none);
}

TEST_CASE("a pressure taken at the pump is not load while oil flows") {
  SmallSite site = with_baseline();
  site.job.rig.circuits[0].pressure_taken_at = FittedAt::pump;
  CHECK(site.value(of(Kind::load, {J1})).high.quality == Quality::good);
  site.progress.oil_flows = true;
  CHECK(site.value(of(Kind::load, {J1})).high.cause == Cause::oil_flows);
  CHECK(site.value(of(Kind::load, {J3})).high.quality == Quality::good);
  site.job.rig.channels[P3].fitted_at = FittedAt::pump;
  CHECK(site.value(of(Kind::load, {J3})).high.cause == Cause::oil_flows);
}

TEST_CASE("a jack without a ram gauge has no travel") {
  SmallSite site = with_baseline();
  for (const Kind kind : {Kind::travel, Kind::travel_left, Kind::predicted_departure})
    CHECK(site.value(of(kind, {J2})).high.cause == Cause::no_reference);
}

TEST_CASE("parts read more than two polls apart make a value uncertain") {
  SmallSite site = with_baseline();
  const QuantityRef apart = of(Kind::predicted_departure, {J1});  // Pressure and ram stand in different blocks.
  site.job.plan.stages.resize(1);
  Step step;
  step.targets = {{JackId{std::size_t{J1}}, Force::from_si(500 * kN), Force::from_si(500 * kN)}};
  step.predicted = {{JackId{std::size_t{J1}}, Length::from_si(6 * mm), Length::from_si(1 * mm)}};
  site.job.plan.stages[0].steps = {step};
  site.wait(milliseconds(200));
  site.scan(0, site.pressures);
  CHECK(site.value(apart).high.quality == Quality::good);
  site.wait(milliseconds(1));
  site.scan(0, site.pressures);
  CHECK(site.value(apart).high.cause == Cause::skewed);
}

TEST_CASE("parts read further apart than they may be old make a value bad") {
  SmallSite site;
  site.job.rig.channels[G1].stale_after = site.job.rig.channels[G2].stale_after = seconds(2);
  site.restart();
  site.read();
  site.take_baseline();
  // The other gauge's answer is lost, but its state has not been told of the time: as after a late event.
  site.now = site.now + seconds(3);
  site.job.polls.blocks[1].channels = {{ChannelId{std::size_t{G1}}, 0}};
  site.scan(1, Words{5000});
  CHECK(site.value(head).high.cause == Cause::skewed_bad);
}

TEST_CASE("STOP takes readings as they are, the rest may take their median") {
  SmallSite site;
  site.job.rig.channels[G3].median = 3;
  site.restart();
  site.read();
  site.take_baseline();
  site.read_for(milliseconds(300));
  site.set_gauge(G3, 5100);
  site.read_for(milliseconds(100));
  const QuantityRef west = of(Kind::movement, {WEST});
  CHECK(equal(evaluate(west, site.context(Take::as_read)), 1.0 * mm));
  CHECK(equal(evaluate(west, site.context(Take::steadied)), 0.0));
  CHECK(has_median(west, site.job.rig));
  CHECK_FALSE(has_median(head, site.job.rig));
}

TEST_CASE("the rate of a point is that of its fastest gauge, up positive") {
  SmallSite site = watching({rate_of(head, seconds(30)), rate_of(of(Kind::movement, {EAST}), seconds(30))});
  lift_head(site, 31);
  CHECK(site.value(rate_of(head, seconds(30))).high.value.si == Approx(0.01 * mm).epsilon(1e-9));
  CHECK(site.value(rate_of(of(Kind::movement, {EAST}), seconds(30))).high.value.si == Approx(0).margin(1e-15));
}

TEST_CASE("a gauge that drops out makes no step in the rate of its point") {
  const QuantityRef rate = rate_of(head, seconds(30));
  SmallSite site = watching({rate});
  Scale loop{.raw_low = 4e-3, .raw_high = 20e-3, .value_low = 0, .value_high = 0.16, .loop = true, .counts_per_mA = 1000};
  site.job.rig.channels[G2].scale = loop;  // So that it can break.
  for (int i = 0; i < 31; ++i) {
    site.wait(seconds(1));
    site.set_gauge(G1, 5000);
    site.set_gauge(G2, i < 25 ? 9100 : 0);  // 51 mm, then a broken loop.
    site.read();
  }
  CHECK(site.channel(G2).quality == Quality::bad);
  CHECK(site.value(rate).high.quality == Quality::good);
  CHECK(site.value(rate).high.value.si == 0);
}

TEST_CASE("a new mark makes no step in a rate") {
  const QuantityRef rate = rate_of(of(Kind::travel, {J1}, Since::stage_start), seconds(30));
  SmallSite site = watching({rate});
  for (int i = 0; i < 31; ++i) {
    site.wait(seconds(1));
    site.set_gauge(S1, 1000 + 10 * i);
    site.read();
    if (i == 15) site.start_stage();
  }
  CHECK(site.value(rate).high.value.si == Approx(0.1 * mm).epsilon(1e-9));
}

TEST_CASE("the rate of load lost is the rate of load turned over") {
  const QuantityRef rate = rate_of(of(Kind::load_lost, {J1}), seconds(30));
  SmallSite site = watching({rate});
  for (int i = 0; i < 31; ++i) {
    site.wait(seconds(1));
    site.set_pressure(J1, 350 - i * 0.4375);
    site.read();
  }
  CHECK(site.value(rate).high.value.si == Approx(0.4375 * bar * 0.0126).epsilon(1e-6));
}

TEST_CASE("the rate of a differential and of a tilt come from the gauges' own rates") {
  const QuantityRef between = rate_of(of(Kind::differential, {HEAD, WEST}), seconds(30));
  const QuantityRef tilting = rate_of(of(Kind::tilt, {HEAD, WEST, EAST}), seconds(30));
  SmallSite site = watching({between, tilting});
  lift_head(site, 31);
  CHECK(site.value(between).high.value.si == Approx(0.01 * mm).epsilon(1e-9));
  CHECK(site.value(tilting).high.value.si == Approx(0.01 * mm * std::sqrt(1.0 / 16 + 0)).epsilon(1e-6));
}

TEST_CASE("a rate whose reading is bad now is bad, whatever its window remembers") {
  const QuantityRef rate = rate_of(of(Kind::load, {J1}), seconds(30));
  SmallSite site = watching({rate});
  site.read_for(seconds(31), seconds(1));
  CHECK(site.value(rate).high.quality == Quality::good);
  site.pressures[J1] = 0;
  site.read_for(seconds(1), seconds(1));
  CHECK(site.value(rate).high.cause == Cause::loop_low);
}

TEST_CASE("a rate of what is off the scale now is beyond on both sides, whatever its window took") {
  const QuantityRef rate = rate_of(of(Kind::movement, {WEST}), seconds(600));  // A sample each 1.2 s at most.
  SmallSite site = watching({rate});
  site.read_for(seconds(400), seconds(1));
  site.read_for(seconds(2), seconds(2));
  site.set_gauge(G3, 32767);
  site.read_for(milliseconds(100));
  CHECK(site.values.windowed[0].slopes[0].samples.back().at < site.now);
  CHECK(site.value(rate).high.saturated == Saturation::high);
  CHECK(site.value(rate).low.saturated == Saturation::low);
}

TEST_CASE("the rate of a temperature change needs no mark") {
  QuantityRef rate = rate_of(of(Kind::temperature_change, {T1}), seconds(30));
  SmallSite site = watching({rate});
  for (int i = 0; i < 31; ++i) {
    site.wait(seconds(1));
    site.set_gauge(T1, 200 + i);
    site.read();
  }
  CHECK(site.value(rate).high.value.si == Approx(0.1).epsilon(1e-9));
}

TEST_CASE("a plane needs to know where each of its points is") {
  SmallSite site = with_baseline();
  const QuantityRef plane = of(Kind::tilt, {HEAD, WEST, EAST, NORTH});
  CHECK(site.value(plane).high.quality == Quality::good);
  site.job.rig.points[WEST].at.reset();
  CHECK(site.value(plane).high.cause == Cause::no_reference);
}

TEST_CASE("departure counts travel from where the plan zeroed the rams, else from baseline") {
  SmallSite site = with_baseline();
  site.job.plan.stages.resize(1);
  Step step;
  step.targets = {{JackId{std::size_t{J1}}, Force::from_si(264.6 * kN), Force::from_si(500 * kN)}};  // 210 bar.
  step.predicted = {{JackId{std::size_t{J1}}, Length::from_si(4 * mm), Length::from_si(1 * mm)}};
  site.job.plan.stages[0].steps = {step};
  site.set_gauge(S1, 1100);
  site.read_for(milliseconds(100));
  site.values.references.travel_zero = mark_of_now(site.context());
  site.set_gauge(S1, 1325);
  site.read_for(milliseconds(100));  // 105 bar: 2 mm are predicted.
  CHECK(equal(site.value(of(Kind::predicted_departure, {J1})), 0.25 * mm));
  site.values.references.travel_zero = {};
  CHECK(equal(site.value(of(Kind::predicted_departure, {J1})), 1.25 * mm));
}

TEST_CASE("a rate that no window was opened for is filling, not missing") {
  SmallSite site = with_baseline();
  CHECK(site.value(rate_of(head, seconds(30))).high.cause == Cause::filling);
  CHECK(site.value(of(Kind::creep, {HEAD})).high.cause == Cause::filling);
  CHECK(site.value(of(Kind::stiffness_ratio, {J1})).high.cause == Cause::filling);
}

TEST_CASE("creep of a point is that of its worst gauge since the load was reached") {
  const QuantityRef creep = of(Kind::creep, {HEAD});
  SmallSite site = watching({creep});
  site.progress.reached = site.now;
  for (int t = 1; t <= 1200; ++t) {
    site.wait(seconds(1));
    const double decades = t < 60 ? 0 : std::log10(t / 60.0);
    site.set_gauge(G1, 5000 + static_cast<int>(std::lround(40 * decades)));
    site.set_gauge(G2, 5000 + static_cast<int>(std::lround(20 * decades)));
    site.read();
  }
  const Judged value = site.value(creep);
  CHECK(value.high.value.si / mm == Approx(0.40).epsilon(0.02));
  CHECK(value.low.value.si / mm == Approx(0.20).epsilon(0.03));
  site.progress.reached.reset();
  site.read_for(seconds(1), seconds(1));
  CHECK(site.value(creep).high.cause == Cause::filling);
}

TEST_CASE("what a gate or a criterion watches has its window too, and only one") {
  SmallSite site;
  site.job.plan.stages.resize(1);
  Limit limit;
  limit.of = rate_of(head, seconds(30));
  Gate gate;
  gate.of = rate_of(of(Kind::load, {J1}), seconds(10));
  limit.when = gate;
  Criterion criterion;
  criterion.of = rate_of(head, seconds(30));
  site.job.plan.stages[0].limits = {limit, limit};
  site.job.plan.stages[0].proceed_when = {criterion};
  site.restart();
  REQUIRE(site.values.windowed.size() == 2);
  CHECK(site.values.windowed[0].slopes.size() == 2);
  CHECK(site.values.windowed[1].slopes.size() == 1);
}
