// The pump obeys the permit, arrives together, and never lets pressure out.
#include <cmath>

#include "tests/rig/grain_store_plant.hpp"
#include "tools/rig/pump_order.hpp"

using namespace standfast;
using namespace standfast::rig;

namespace {

double shown(const Plant& plant, std::size_t jack) {
  return plant.site().pressure(jack) * plant.rig().jacks[jack].area.si();
}

}  // namespace

TEST_CASE("without the permit the pump does not start") {
  auto plant = grain_store_plant();
  CHECK(plant->obey("raise J1 to 20 kN", "test").starts_with("refused: the pump does not start"));
  plant->step(seconds(1));
  CHECK(plant->site().pressure(0) < 1);
}

TEST_CASE("jacks arrive at their loads together") {
  auto plant = grain_store_plant();
  Hand hand{*plant};
  hand.permit();
  CHECK(plant->obey("raise J1 J3 to 200 kN, J2 J4 to 160 kN each at 20 kN/s", "test") ==
        "done: the pump runs for about 10 s");
  hand.run(seconds(5));
  CHECK(shown(*plant, 0) == Approx(100e3).epsilon(0.02));
  CHECK(shown(*plant, 1) == Approx(80e3).epsilon(0.02));
  hand.run(seconds(6));
  CHECK(plant->pump().state() == PumpState::done);
  CHECK(shown(*plant, 2) == Approx(200e3).epsilon(0.001));
  CHECK(shown(*plant, 3) == Approx(160e3).epsilon(0.001));
}

TEST_CASE("the pump stops with the permit, keeps the pressure and does not start again by itself") {
  auto plant = grain_store_plant();
  Hand hand{*plant};
  hand.permit();
  plant->obey("raise J1 J3 to 200 kN, J2 J4 to 160 kN at 20 kN/s", "test");
  hand.run(seconds(5));
  const double reached = shown(*plant, 0);
  hand.want(OutputKind::raise_permit, false);
  hand.run(seconds(30));
  CHECK(plant->pump().state() == PumpState::permit_went);
  CHECK(shown(*plant, 0) == Approx(reached).epsilon(0.01));
  hand.permit();
  hand.run(seconds(5));
  CHECK(shown(*plant, 0) == Approx(reached).epsilon(0.01));
  CHECK_FALSE(plant->pump().running());
}

TEST_CASE("a closed valve stops the pump as well") {
  auto plant = grain_store_plant();
  Hand hand{*plant};
  hand.permit();
  plant->obey("raise J1 J2 J3 J4 to 100 kN at 10 kN/s", "test");
  hand.want(OutputKind::stop_relay, false);
  hand.write();
  plant->step(milliseconds(10));
  CHECK(plant->pump().state() == PumpState::permit_went);
}

TEST_CASE("a withheld heartbeat stops the pump") {
  auto plant = grain_store_plant();
  Hand hand{*plant};
  hand.permit();
  plant->obey("raise J1 J2 J3 J4 to 100 kN at 10 kN/s", "test");
  plant->step(milliseconds(1990));
  CHECK(plant->pump().running());
  plant->step(milliseconds(20));
  CHECK(plant->pump().state() == PumpState::permit_went);
}

TEST_CASE("an order to raise lowers no jack") {
  auto plant = grain_store_plant();
  Hand hand{*plant};
  hand.permit();
  plant->obey("raise J1 J2 J3 J4 to 100 kN at 20 kN/s", "test");
  hand.run(seconds(7));
  const double before = shown(*plant, 0);
  plant->obey("raise J1 to 50 kN at 20 kN/s", "test");
  hand.run(seconds(2));
  CHECK(shown(*plant, 0) == Approx(before).epsilon(0.005));
}

TEST_CASE("lowering needs its own permit and goes no further than ordered") {
  auto plant = grain_store_plant();
  Hand hand{*plant};
  hand.permit();
  plant->obey("raise J1 J2 J3 J4 to 100 kN at 20 kN/s", "test");
  hand.run(seconds(7));
  CHECK(plant->obey("lower J1 to 60 kN at 10 kN/s", "test").starts_with("refused"));
  hand.want(OutputKind::lower_permit, true);
  hand.write();
  CHECK(plant->obey("lower J1 to 60 kN at 10 kN/s", "test").starts_with("done"));
  hand.run(seconds(10));
  CHECK(shown(*plant, 0) == Approx(60e3).epsilon(0.01));
}

TEST_CASE("the relief valve ends what no order should have asked for") {
  auto plant = grain_store_plant();
  Hand hand{*plant};
  hand.permit();
  plant->obey("raise J1 to 600 kN at 50 kN/s", "test");
  hand.run(seconds(20));
  CHECK(plant->pump().state() == PumpState::relief);
  CHECK(plant->site().pressure(0) < 570e5);  // The example states 560 bar.
}

TEST_CASE("pump running is told on its input, and only then") {
  auto plant = grain_store_plant();
  Hand hand{*plant};
  const auto input = [&] { return plant->words(plant->rig().output_module->bus, 9, Table::discrete_input, 24, 1)->front(); };
  hand.permit();
  CHECK(input() == 1);  // Closed while it stands, so that a cut cable reads as running.
  plant->obey("raise J1 J2 J3 J4 to 20 kN at 10 kN/s", "test");
  CHECK(input() == 0);
  hand.run(seconds(5));
  CHECK(input() == 1);
}

TEST_CASE("a jack with a certificate is pumped to the pressure that its certificate names") {
  // Certificate points of a 127 mm ram, 0 to 300 bar: 0, 123.0, 248.9, 375.1 kN.
  Jack jack;
  jack.area = Area::from_si(0.0126677);
  for (const auto& [bar, kilonewton] : {std::pair{0.0, 0.0}, {100.0, 123.0}, {200.0, 248.9}, {300.0, 375.1}}) {
    jack.rising.push_back({Pressure::from_si(bar * 1e5), Force::from_si(kilonewton * 1e3)});
  }
  CHECK(pressure_for(jack, 248.9e3, Direction::raise) == Approx(200e5));
  CHECK(pressure_for(jack, 185.95e3, Direction::raise) == Approx(150e5));
  CHECK(load_shown(jack, 150e5, Direction::raise) == Approx(185.95e3));
  CHECK(pressure_for(jack, 500e3, Direction::raise) == Approx(500e3 / 0.0126677));
}

TEST_CASE("the demonstration's way from baseline to full transfer fits into two minutes") {
  // 1480 kN in four steps by the example's shares, at 20 kN/s: the pumping itself, in the site's own time.
  auto plant = grain_store_plant();
  Hand hand{*plant};
  hand.permit();
  for (const char* loads : {"raise J1 J3 to 101.75 kN, J2 J4 to 83.25 kN", "raise J1 J3 to 203.5 kN, J2 J4 to 166.5 kN",
                            "raise J1 J3 to 305.25 kN, J2 J4 to 249.75 kN", "raise J1 J3 to 407 kN, J2 J4 to 333 kN"}) {
    const std::string order = std::string{loads} + " at 20 kN/s";
    REQUIRE(plant->obey(order, "test").starts_with("done"));
    for (int n = 0; n < 100 && plant->pump().running(); ++n) hand.run(milliseconds(100));
    REQUIRE(plant->pump().state() == PumpState::done);
  }
  CHECK(plant->elapsed() < seconds(30));
  CHECK(plant->site().column_force() == 0);
  CHECK(plant->site().head() * 1e3 > 0.8);
  CHECK(plant->site().head() * 1e3 < 1.1);
}
