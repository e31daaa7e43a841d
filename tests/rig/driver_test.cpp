// The rig read and driven by the project's own drivers, over TCP: two programs that share no code below the rig file.
#include <cmath>

#include "config/poll_plan.hpp"
#include "config/raw_value.hpp"
#include "drivers/boot_clock.hpp"
#include "drivers/make_driver.hpp"
#include "tests/rig/grain_store_plant.hpp"
#include "tools/rig/rig_server.hpp"

using namespace standfast;
using namespace standfast::rig;

namespace {

const BootClock boot_clock;
SharedLines shared_lines;

std::unique_ptr<RigServer> standing() {
  ServerOptions options;
  options.port = 0;
  options.time_stands = true;
  auto server = RigServer::start(grain_store_plant(), options);
  REQUIRE(server);
  return std::move(*server);
}

Bus bus_of(const RigServer& server) {
  Bus bus = grain_store_rig().buses.front();
  std::get<ModbusTcp>(bus.wire).port = server.ports().front().number;
  return bus;
}

Instant late() { return boot_clock.now() + minutes(1); }

}  // namespace

TEST_CASE("every block of the poll plan is answered with the words that the instruments show") {
  auto server = standing();
  const Rig rig = grain_store_rig();
  auto driver = make_driver(bus_of(*server), boot_clock, shared_lines);
  REQUIRE(driver);
  const PollPlan plan = poll_plan(rig);
  REQUIRE_FALSE(plan.blocks.empty());
  for (std::size_t b = 0; b < plan.blocks.size(); ++b) {
    const Block& block = plan.blocks[b];
    const Scan scan = (*driver)->ask(BlockId{b}, block, late());
    REQUIRE(scan.flaw == Flaw::none);
    const auto shown = server->with_plant(
        [&](Plant& plant) { return plant.words(block.bus, block.unit_id, block.table, block.start, block.count); });
    REQUIRE(shown);
    if (const auto* words = std::get_if<Words>(&scan.raw)) CHECK(*words == *shown);
    if (const auto* bits = std::get_if<Bits>(&scan.raw)) CHECK(std::vector<std::uint16_t>(bits->begin(), bits->end()) == *shown);
  }
}

TEST_CASE("the driver of the outputs finds a simulated module with its watchdog, and closes its contacts") {
  auto server = standing();
  const Rig rig = grain_store_rig();
  auto module = make_output_module(*rig.output_module, bus_of(*server), boot_clock, shared_lines);
  REQUIRE(module);
  OutputImage image;
  image[OutputKind::stop_relay] = true;
  image[OutputKind::heartbeat] = true;
  OutputReport report = (*module)->exchange(image, late());
  REQUIRE(report.flaw == Flaw::none);
  CHECK(report.facts.simulated);
  CHECK(report.facts.watchdog == seconds(2));
  CHECK(report.facts.safe_values_as_stated);
  CHECK(report.facts.power_on_values_as_stated);
  image[OutputKind::raise_permit] = true;
  image[OutputKind::heartbeat] = false;
  report = (*module)->exchange(image, late());
  REQUIRE(report.flaw == Flaw::none);
  CHECK(report.readback[static_cast<std::size_t>(OutputKind::raise_permit)] == true);
  CHECK(report.readback[static_cast<std::size_t>(OutputKind::stop_relay)] == true);
  server->with_plant([](Plant& plant) { CHECK(plant.permitted(Direction::raise)); });
}
