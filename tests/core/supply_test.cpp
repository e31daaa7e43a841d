#include <catch2/catch.hpp>

#include "config/depends.hpp"
#include "daemon/core/quantity/evaluate.hpp"
#include "tests/core/small_site.hpp"

using namespace standfast;
using namespace standfast::test;

TEST_CASE("what feeds a circuit is compared with its lowest jack while the pump runs, and needs to hold nothing while it stands") {
  SmallSite site;
  const QuantityRef supply = of(QuantityKind::supply, {0});
  const auto read = [&site](std::uint16_t microamperes) {
    site.pressures[P3] = microamperes;
    site.wait(seconds(1));
    site.read();
  };
  site.set_pressure(J1, 210);  // Its valve is shut.
  site.set_pressure(J2, 175);
  const auto has_no_value = [&] {
    const Reading low = site.value(supply).low;
    return low.quality == Quality::bad && low.cause == Cause::no_reference;
  };
  CHECK(has_no_value());  // Nobody knows whether it runs.
  site.progress.pump_runs = true;
  read(4000);  // As it stood while the pump did; the pump is told of with this very answer.
  CHECK(has_no_value());
  read(4000 + 182 * 16000 / 700);
  CHECK(equal(site.value(supply), 7 * bar));
  read(4000);
  CHECK(equal(site.value(supply), -175 * bar));
  site.progress.pump_runs = false;
  CHECK(equal(site.value(supply), 0));
  read(4000);
  site.progress.pump_runs = true;  // Started again: what was read before says nothing.
  CHECK(has_no_value());
  site.scan(1, site.gauges);
  CHECK(has_no_value());
  read(4000);
  CHECK(equal(site.value(supply), -175 * bar));
  site.progress.pump_runs.reset();  // Its input has fallen silent, with the module perhaps: that is no hose that bursts.
  CHECK(has_no_value());
  site.progress.pump_runs = false;
  read(4000);
  CHECK(equal(site.value(supply), 0));
  read(3700);  // Below its range, which at rest is no news.
  CHECK(site.value(supply).low.quality == Quality::uncertain);
  CHECK(equal(site.value(supply), 0));
  read(3500);
  CHECK(site.value(supply).low.quality == Quality::bad);
  read(4000);
  site.pressures[J2] = 0;
  site.read();
  CHECK(site.value(supply).low.quality == Quality::bad);
  CHECK(channels_of(supply, site.job.rig) == std::vector<ChannelId>{ChannelId{P1}, ChannelId{P2}, ChannelId{P3}});
}
