// The simulated output module: energised means permission, and silence takes it away.
#include "tests/rig/grain_store_plant.hpp"

using namespace standfast;
using namespace standfast::rig;

namespace {

std::vector<std::string> outputs_of(Plant& plant) {
  std::vector<std::string> told;
  for (const LogEntry& entry : plant.take_log()) {
    if (entry.what == "output") told.push_back(entry.subject + (entry.on ? " on " : " off ") + entry.by);
  }
  return told;
}

bool readback(Plant& plant, int address) {
  return plant.words(plant.rig().output_module->bus, 9, Table::discrete_input, address, 1)->front() != 0;
}

}  // namespace

TEST_CASE("outputs are off at power-on until somebody lives and wants them on") {
  auto plant = grain_store_plant();
  Hand hand{*plant};
  for (int n = 0; n < output_count; ++n) CHECK_FALSE(*plant->relays()->contact(static_cast<OutputKind>(n)));
  hand.want(OutputKind::raise_permit, true);
  hand.write();
  CHECK(*plant->relays()->contact(OutputKind::raise_permit));
  CHECK(readback(*plant, 16));
}

TEST_CASE("the watchdog drops every output when the heartbeat stops, and its time counts") {
  auto plant = grain_store_plant();
  Hand hand{*plant};
  hand.permit();
  hand.run(seconds(5));
  CHECK(*plant->relays()->contact(OutputKind::raise_permit));
  outputs_of(*plant);
  hand.run(milliseconds(1990), false);  // Written all the time, but without an edge; the last edge is 490 ms ago.
  CHECK_FALSE(*plant->relays()->contact(OutputKind::raise_permit));
  CHECK_FALSE(readback(*plant, 16));
  CHECK(outputs_of(*plant) ==
        std::vector<std::string>{"raise_permit off watchdog", "stop_relay off watchdog", "heartbeat off watchdog"});
  CHECK(plant->relays()->holding().at(watchdog_trips_register) == 1);
  CHECK(plant->relays()->holding().at(watchdog_state_register) == 1);
}

TEST_CASE("after a trip an order without a heartbeat energises nothing") {
  auto plant = grain_store_plant();
  Hand hand{*plant};
  hand.permit();
  plant->step(seconds(3));
  hand.write(false);
  CHECK_FALSE(*plant->relays()->contact(OutputKind::raise_permit));
}

TEST_CASE("orders and heartbeat may come in two writes") {
  auto plant = grain_store_plant();
  const BusId bus = plant->rig().output_module->bus;
  CHECK(plant->write(bus, 9, Table::coil, 0, {1, 0, 1, 0, 0, 1}));
  CHECK_FALSE(readback(*plant, 18));
  CHECK(plant->write(bus, 9, Table::coil, 7, {1}));
  CHECK(readback(*plant, 18));
}

TEST_CASE("after a trip only what is ordered anew comes back") {
  auto plant = grain_store_plant();
  const BusId bus = plant->rig().output_module->bus;
  Hand hand{*plant};
  hand.permit();
  plant->step(seconds(3));
  CHECK(plant->write(bus, 9, Table::coil, 7, {0}));
  CHECK_FALSE(plant->relays()->watchdog_tripped());
  CHECK_FALSE(readback(*plant, 16));
}

TEST_CASE("a value on watchdog other than all off is what the contacts do: that is why it is read back") {
  auto plant = grain_store_plant();
  CHECK(plant->write(plant->rig().output_module->bus, 9, Table::holding_register, 41, {1}));
  Hand hand{*plant};
  hand.permit();
  plant->step(seconds(3));
  CHECK(readback(*plant, 16));
  CHECK_FALSE(readback(*plant, 18));
}

TEST_CASE("a heartbeat that stands at 1 is dead") {
  auto plant = grain_store_plant();
  Hand hand{*plant};
  hand.permit();
  hand.run(seconds(10), false);  // Written all the time; after the trip the coil itself has changed, the order has not.
  CHECK_FALSE(*plant->relays()->contact(OutputKind::raise_permit));
  CHECK(plant->relays()->holding().at(watchdog_trips_register) == 1);
}

TEST_CASE("a watchdog set to nothing never trips: that is why it is read back before any permit") {
  auto plant = grain_store_plant();
  CHECK(plant->obey("module watchdog 0", "test").starts_with("done"));
  Hand hand{*plant};
  hand.permit();
  plant->step(minutes(5));
  CHECK(*plant->relays()->contact(OutputKind::raise_permit));
  CHECK(plant->words(plant->rig().output_module->bus, 9, Table::holding_register, 40, 1)->front() == 0);
}

TEST_CASE("the module says that it is simulated, where the drivers look for it") {
  auto plant = grain_store_plant();
  // 0x5346 0x5349 at holding register 65100, as drivers/output_module.hpp states; written out, so that neither side can
  // change alone.
  CHECK(plant->words(plant->rig().output_module->bus, 9, Table::holding_register, 65100, 2) ==
        std::vector<std::uint16_t>{0x5346, 0x5349});
}

TEST_CASE("the watchdog's time and the values on watchdog and power-on read as the rig file wants them") {
  auto plant = grain_store_plant();
  CHECK(plant->words(plant->rig().output_module->bus, 9, Table::holding_register, 40, 3) ==
        std::vector<std::uint16_t>{20, 0, 0});
}

TEST_CASE("a welded contact stays closed and is read back closed") {
  auto plant = grain_store_plant();
  Hand hand{*plant};
  hand.permit();
  plant->obey("contact raise_permit welded", "test");
  hand.want(OutputKind::raise_permit, false);
  hand.write();
  CHECK(*plant->relays()->contact(OutputKind::raise_permit));
  CHECK(readback(*plant, 16));
  plant->obey("mend raise_permit", "test");
  CHECK_FALSE(readback(*plant, 16));
}

TEST_CASE("the stop button at the site opens the permits whatever is ordered") {
  auto plant = grain_store_plant();
  Hand hand{*plant};
  hand.permit();
  hand.want(OutputKind::sounder, true);
  hand.write();
  plant->obey("site stop pressed", "test");
  CHECK_FALSE(readback(*plant, 16));
  CHECK(readback(*plant, 19));  // The sounder sounds on.
  CHECK(plant->words(plant->rig().output_module->bus, 9, Table::discrete_input, 25, 1)->front() == 0);
  plant->obey("site stop let go", "test");
  CHECK(readback(*plant, 16));
}

TEST_CASE("a module with its cable pulled answers nothing and drops its outputs") {
  auto plant = grain_store_plant();
  Hand hand{*plant};
  hand.permit();
  plant->obey("module cable pulled", "test");
  CHECK_FALSE(plant->serve(plant->rig().output_module->bus, 9, Bytes{1, 0, 0, 0, 8}));
  plant->step(seconds(2));
  CHECK_FALSE(*plant->relays()->contact(OutputKind::raise_permit));
  plant->obey("module cable back", "test");
  CHECK(plant->serve(plant->rig().output_module->bus, 9, Bytes{1, 0, 0, 0, 8}));
}

TEST_CASE("a module that was off and on again starts without permission") {
  auto plant = grain_store_plant();
  Hand hand{*plant};
  hand.permit();
  plant->obey("module restarted", "test");
  CHECK_FALSE(readback(*plant, 16));
  CHECK(outputs_of(*plant).back() == "stop_relay off power");
}
