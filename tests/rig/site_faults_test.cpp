// What goes wrong with hoses, valves, gauges and wires of a site, on the example's rig: what the crew sees of it.
#include "tests/rig/raised_job.hpp"

using namespace standfast;
using namespace standfast::rig;

TEST_CASE("a hose that leaks while the column still carries is a HOLD of its jack's load, and of no other's", "[trade-1]") {
  ExampleJob job{short_waits()};
  raise(job, {25.0, 50.0});
  job.obey("leak J1 2 bar/s");
  job.pass(seconds(30));
  CHECK(job.has(Level::hold, "rate load J1"));
  CHECK_FALSE(job.has(Level::hold, "rate load J2"));
  CHECK_FALSE(job.has(Level::stop, ""));
  CHECK(job.state().permit.kind == PermitKind::none);
}

TEST_CASE("a hose that leaks under the whole load is a HOLD before a third of it is lost", "[trade-1]") {
  ExampleJob job{short_waits()};
  raise(job, all_steps);
  job.obey("leak J1 2 bar/s");
  job.wait("a HOLD", minutes(2), [&] { return job.state().signal >= Level::hold; });
  CHECK(job.total() > 2.0 / 3 * 1.42e6);
}

// Without a pressure before them: what is behind the check valves stays, and the permit ends because nothing rises.
TEST_CASE("a hose that bursts before the check valves takes no load, and the permit ends while the pump pumps in vain", "[trade-2]") {
  ExampleJob job{short_waits()};
  raise(job, {25.0, 50.0});
  job.close(engineer);
  const double before = job.total();
  job.obey("hose burst");
  job.permit("raise");
  job.pump(65);
  job.pass(minutes(14));
  CHECK(job.state().permit.kind == PermitKind::raise);
  job.pass(minutes(2));
  CHECK(job.state().permit.kind == PermitKind::none);
  CHECK(job.total() > 0.97 * before);
  CHECK_FALSE(job.has(Level::stop, ""));
}

TEST_CASE("hoses that burst with no check valve behind them are a STOP", "[trade-3]") {
  ExampleJob job{short_waits()};
  raise(job, all_steps);
  job.obey("leak J1 200 bar/s");
  job.obey("leak J3 200 bar/s");
  job.pass(seconds(6));
  CHECK(job.has(Level::stop, "rate load J1"));
  CHECK(job.state().signal == Level::stop);
}

TEST_CASE("a valve that creeps or a seal that weeps is a REVIEW when the load leaves its band, and a HOLD as far below again",
          "[trade-4][trade-5]") {
  ExampleJob job{short_waits()};
  raise(job, {25.0, 50.0});
  job.obey("leak J1 20 bar/h");  // A tenth of its pressure in an hour: too slow for every rate.
  job.wait("a REVIEW", minutes(20), [&] { return job.has(Level::review, "load fallen J1"); });
  CHECK_FALSE(job.has(Level::hold, ""));
  job.wait("a HOLD", minutes(40), [&] { return job.has(Level::hold, "load fallen J1"); });
  CHECK_FALSE(job.has(Level::hold, "rate"));
  CHECK(job.kilonewtons(0) > 0.93 * 203.5);
}

TEST_CASE("a load that falls while the next step waits for somebody is seen as before", "[trade-4]") {
  ExampleJob job{short_waits()};
  raise(job, {25.0, 50.0});
  job.close(engineer);  // 65 % is due, and nobody pumps.
  job.obey("leak J1 20 bar/h");
  job.wait("a REVIEW", minutes(20), [&] { return job.has(Level::review, "load fallen J1 from 50 %"); });
  job.wait("a HOLD", minutes(40), [&] { return job.has(Level::hold, "load fallen J1 from 50 %"); });
  CHECK(job.kilonewtons(0) > 0.93 * 203.5);
}

TEST_CASE("a load that has fallen is topped up, and nothing holds", "[trade-4]") {
  ExampleJob job{short_waits()};
  raise(job, {25.0, 50.0});
  job.obey("leak J1 20 bar/h");
  job.wait("a REVIEW", minutes(20), [&] { return job.has(Level::review, "load fallen J1"); });
  job.wait("the band to be left", minutes(5), [&] { return job.in(StageState::running); });
  job.obey("mend J1");
  job.permit("raise");
  job.pump(50);
  job.wait("the observation period", minutes(3), [&] { return job.in(StageState::observation); });
  job.act(Act::acknowledge, "all", technician);
  CHECK(job.state().signal == Level::none);
  CHECK_FALSE(job.has(Level::hold, ""));
}

TEST_CASE("a stuck gauge of the head is a HOLD of that gauge by its twin, a stuck ram gauge by its pressure", "[trade-18][fault-15]") {
  ExampleJob head{short_waits()};
  raise(head, {25.0});
  head.obey("gauge G1 stuck");
  pump_on(head, 50);
  head.pass(minutes(2));
  CHECK(head.has(Level::hold, "instrument G1", Cause::frozen));

  ExampleJob ram{short_waits()};
  raise(ram, {25.0});
  ram.obey("gauge S1 stuck");
  pump_on(ram, 50);
  ram.pass(minutes(1));
  CHECK(ram.has(Level::hold, "instrument S1", Cause::frozen));
}

TEST_CASE("a gauge of the head that was knocked is a HOLD and no STOP, though it stands beyond the STOP limit", "[trade-19]") {
  ExampleJob job{short_waits()};
  raise(job, {25.0});
  job.obey("gauge G1 knocked +0.6 mm");  // Beyond HOLD at 1.2 mm only together with what the head has risen.
  job.pass(seconds(5));
  CHECK(job.has(Level::hold, "gauges of HEAD"));
  CHECK_FALSE(job.has(Level::stop, ""));
}

TEST_CASE("a ram gauge that is knocked while a step is observed is a HOLD of that gauge two polls later", "[trade-19][fault-16]") {
  ExampleJob job{short_waits()};
  raise(job, {25.0});
  pump_on(job, 50);
  job.wait("the observation period", minutes(10), [&] { return job.in(StageState::observation); });
  job.pass(seconds(20));
  CHECK_FALSE(job.has(Level::hold, ""));
  job.held.clear();
  job.obey("gauge S1 knocked -0.6 mm");
  job.pass(milliseconds(500));  // Asked twice a second.
  CHECK_FALSE(job.has(Level::hold, ""));
  job.pass(seconds(1));
  INFO(job.told());
  CHECK(job.has(Level::hold, "instrument S1", Cause::lone_step));
  CHECK(job.held == std::vector<std::string>{"instrument S1"});
  CHECK_FALSE(job.has(Level::stop, ""));
}

TEST_CASE("a gauge that stands alone at its point and is knocked is a HOLD, and hides nothing: its number goes on", "[trade-19]") {
  ExampleJob job{short_waits()};
  raise(job, {25.0});
  job.obey("gauge B1 knocked +0.3 mm");
  job.pass(seconds(3));
  CHECK(job.has(Level::hold, "instrument B1", Cause::lone_step));
  job.obey("mend B1");
  job.pass(seconds(6));
  job.act(Act::acknowledge, "all", technician);
  job.act(Act::reset, "all", technician, {}, "set up again and checked");
  CHECK(job.state().signal < Level::hold);
}

TEST_CASE("a column that lets go is told by its limits, and no gauge is blamed", "[trade-17]") {
  ExampleJob job{short_waits()};
  raise(job, {25.0, 50.0});
  job.obey("head pushed -0.9 mm");
  job.pass(seconds(5));
  INFO(job.told());
  CHECK(job.has(Level::hold, "movement HEAD"));
  for (const auto& raised : job.raised) CHECK(raised.cause != Cause::lone_step);
}

TEST_CASE("a ram gauge that was mounted the wrong way round ends at the snug load", "[trade-20]") {
  ExampleJob job{short_waits()};
  job.obey("gauge S1 reversed");
  snug(job);
  job.reach(5);
  job.pass(minutes(2));
  CHECK(job.criterion("travel J1") == "not met");
  CHECK(job.criterion("travel J2") == "met");
  CHECK_FALSE(job.is_ready());
}

TEST_CASE("a gauge of the head that was mounted the wrong way round is a HOLD before the first raise is through", "[trade-20]") {
  ExampleJob job{short_waits()};
  job.obey("gauge G1 reversed");
  raise(job, {});
  job.permit("raise");
  job.pump(25);
  job.pass(minutes(2));
  CHECK(job.has(Level::hold, "gauges of HEAD"));
}

// psi read as bar: 14.5038, as 1 psi = 6894.757 Pa (NIST SP 811, B.8).
TEST_CASE("a pressure that comes in psi where bar is stated ends in commissioning", "[trade-22]") {
  ExampleJob job{short_waits()};
  job.obey("gauge P1 factor 14.5038");
  start(job);
  job.permit("commission", technician);
  job.obey("raise J1 J2 J3 J4 to 10 kN each");
  job.pass(seconds(30));
  CHECK(job.has(Level::hold, "load J1"));
  CHECK(job.state().permit.kind == PermitKind::none);
}

TEST_CASE("a pressure that comes in MPa where bar is stated lets no load stand in the band", "[trade-22]") {
  ExampleJob job{short_waits()};
  job.obey("gauge P1 factor 0.1");
  snug(job);
  job.permit("raise");
  job.pump(5);
  job.pass(minutes(2));
  CHECK(job.in(StageState::running));
}

TEST_CASE("a pressure taken at the pump is no load while oil flows, and is one when the pump stands", "[trade-25]") {
  JobTexts texts = short_waits();
  texts.rig = replaced(texts.rig, "fitted_at: jack port", "fitted_at: pump");
  texts.rig = replaced(texts.rig, "pressure_taken_at: jack port, check_valve: true", "pressure_taken_at: pump, check_valve: false");
  ExampleJob job{texts};
  snug(job);
  job.permit("raise");
  job.pump(5);
  job.pass(seconds(10));
  CHECK(job.load_of_jack(0).quality == Quality::uncertain);
  CHECK(job.load_of_jack(0).cause == Cause::oil_flows);
  CHECK(job.load_of_jack(0).value.si > 1e3 * job.kilonewtons(0) + 1.5e3);  // 2 bar of line loss on 95 cm2.
  job.wait("the pump to stand", minutes(2), [&] { return job.load_of_jack(0).quality == Quality::good; });
  CHECK(job.load_of_jack(0).value.si == Approx(1e3 * job.kilonewtons(0)).margin(300));
}

TEST_CASE("a blocked return of a double-acting jack is a HOLD, and its load stays the net one", "[trade-26]") {
  JobTexts texts = short_waits();
  const std::string travel = "  # Ram travel, 0 to 150", total = "    - {of: load total, hold: {above: 105 %";
  texts.rig = replaced(texts.rig, travel, R"(  R1: {bus: manifold, unit_id: 1, input_register: 6, as: uint16, every: 100 ms,
       scale: {current: [4 mA, 20 mA], value: [0 bar, 700 bar], counts_per_mA: 1000}, accuracy: 0.25 % of 700 bar,
       certificate: {number: P-105, due: 2099-12-31}, fitted_at: jack port}
)" + travel);
  texts.rig = replaced(texts.rig, "J1: {advance: P1, area: 95.03 cm2,",
                       "J1: {advance: P1, retract: R1, area: 95.03 cm2, retract_area: 20 cm2,");
  texts.plan = replaced(texts.plan, total, "    - {of: channel R1, hold: {above: 10 bar}, stop: {above: 600 bar}}\n" + total);
  ExampleJob job{texts};
  snug(job);
  job.reach(5);
  job.permit("top-up");
  job.obey("return J1 blocked");
  job.obey("raise J1 to 60 kN");
  job.pass(seconds(20));
  CHECK(job.has(Level::hold, "channel R1"));
  const double gross = job.plant().site().pressure(0) * job.plant().site().piston_area();
  REQUIRE(gross > job.kilonewtons(0) * 1e3 + 1.8e3);  // What p A alone would say.
  CHECK(job.load_of_jack(0).value.si == Approx(job.kilonewtons(0) * 1e3).margin(400));
}

TEST_CASE("a jack that gets its oil late is a HOLD of its circuit", "[trade-28]") {
  ExampleJob job{short_waits()};
  raise(job, {25.0, 50.0});
  job.obey("coupler J1 half open");
  pump_on(job, 75);
  job.wait("a HOLD", minutes(3), [&] { return job.state().signal >= Level::hold; });
  CHECK(job.has(Level::hold, "pressure spread A"));
  CHECK_FALSE(job.has(Level::hold, "pressure spread B"));
}

TEST_CASE("two pressures on each other's wires are a HOLD of both circuits as soon as one circuit is pumped alone", "[trade-29]") {
  ExampleJob job{short_waits()};
  job.obey("cross P1 P2");
  snug(job);
  job.permit("raise");
  job.obey("raise J1 J3 to 20 kN each");
  job.pass(minutes(1));
  INFO(job.told());
  CHECK(job.has(Level::hold, "pressure spread A"));
  CHECK(job.has(Level::hold, "pressure spread B"));
}

TEST_CASE("a gateway that repeats what it once read is a HOLD after ten seconds, and lets nothing be raised", "[trade-33][fault-15]") {
  ExampleJob job{short_waits()};
  raise(job, {25.0});
  pump_on(job, 50);
  job.pass(seconds(10));
  job.obey("wire manifold frozen");
  job.pass(seconds(9));
  CHECK_FALSE(job.has(Level::hold, ""));
  job.pass(seconds(3));
  CHECK(job.has(Level::hold, "", Cause::unit_frozen));
  CHECK(job.state().permit.kind == PermitKind::none);
}

TEST_CASE("a loop that is open or shorted is a HOLD of the instrument", "[trade-34]") {
  for (const auto& [how, cause] : {std::pair{"unplugged", Cause::loop_low}, std::pair{"shorted", Cause::loop_high}}) {
    ExampleJob job{short_waits()};
    raise(job, {25.0});
    job.obey(std::string{"gauge P1 "} + how);
    job.pass(seconds(3));
    CHECK(job.has(Level::hold, "instrument P1", cause));
    CHECK_FALSE(job.has(Level::stop, ""));
  }
}

TEST_CASE("a number whose words come in the other order lets no baseline be taken", "[trade-35][fault-14]") {
  JobTexts texts = short_waits();
  texts.wired = replaced(texts.rig, "as: float32, every", "as: float32, word_order: little, every");
  ExampleJob job{texts};
  enter_baseline(job);
  job.pass(minutes(5));
  INFO(job.told());
  CHECK_FALSE(job.is_ready());
}

TEST_CASE("a clock that is set back an hour while the pump runs changes no rate and holds nothing", "[trade-36][fault-42]") {
  ExampleJob job{short_waits()};
  raise(job, {25.0});
  pump_on(job, 50);
  job.pass(seconds(20));
  job.set_wall_clock(hours(-1));
  job.wait("the observation period", minutes(10), [&] { return job.in(StageState::observation); });
  CHECK_FALSE(job.has(Level::hold, ""));
}
