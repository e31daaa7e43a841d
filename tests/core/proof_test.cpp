// Proofs: the permit is seen to drop and the load to stay, and nothing else passes for it.
#include <catch2/catch.hpp>

#include "tests/support/site.hpp"

namespace standfast::test {
namespace {

using rehearse::ModuleFault;

// Snug is closed behind the rehearsal; it is entered again, its loads in their band, a top-up given.
Site snug(Ratio within = Ratio::from_si(0.1)) {
  Site site("001-ready-to-raise");
  auto fresh = std::make_shared<Job>(site.job());
  for (Step& step : fresh->plan.stages[2].steps) {
    step.observe = minutes(10);
    step.within = within;
  }
  site.tell(JobInForce{fresh});
  site.pass(seconds(1));
  REQUIRE(site.act({.what = Act::stage_enter, .object = "Snug", .by = supervisor}) == "done");
  site.pass(seconds(1));
  return site;
}

std::string prove(Site& site, const std::string& proof) { return site.act({.what = Act::prove_start, .object = proof, .by = technician}); }
std::string top_up(Site& site) { return site.act({.what = Act::permit_give, .object = "top-up", .by = supervisor}); }

Site topping_up() {
  Site site = snug();
  REQUIRE(top_up(site) == "done");
  site.pass(seconds(1));
  return site;
}

std::optional<ProofResult> result(const Site& site) {
  std::optional<ProofResult> found;
  for (const EffectRow& row : site.rows)
    if (const auto* each = std::get_if<ProofResult>(&row)) found = *each;
  return found;
}

void failed(const Site& site, const std::string& why) {
  REQUIRE(result(site));
  CHECK_FALSE(result(site)->passed);
  CHECK(result(site)->facts == why);
  CHECK_FALSE(site.newest().wanted[OutputKind::raise_permit]);
  CHECK_FALSE(site.state().proofs.has(Proof::drop_by_heartbeat));
}

void lose_pressure(Site& site, const std::string& channel, double part) {
  for (std::size_t c = 0; c < site.job().rig.channels.size(); ++c)
    if (site.job().rig.channels[c].name == channel) site.shows(channel, site.state().values.channels[c].reading.value.si * (1 - part));
}

}  // namespace

TEST_CASE("a drop by command passes when the load stands for the time of the watch") {
  Site site = topping_up();
  CHECK(prove(site, "drop-by-command") == "done");
  CHECK_FALSE(site.newest().wanted[OutputKind::raise_permit]);
  site.pass(milliseconds(1500));
  CHECK_FALSE(result(site));
  site.pass(seconds(2));
  REQUIRE(result(site));
  CHECK(result(site)->passed);
  CHECK(site.signal() == Level::none);
}

TEST_CASE("a drop by heartbeat withholds it until the module's own watchdog has taken the permit") {
  Site site = topping_up();
  CHECK(prove(site, "drop-by-heartbeat") == "done");
  CHECK(site.newest().withhold_heartbeat);
  CHECK(site.newest().wanted[OutputKind::raise_permit]);
  site.pass(seconds(3));
  CHECK_FALSE(site.newest().withhold_heartbeat);
  site.pass(seconds(3));
  REQUIRE(result(site));
  CHECK(result(site)->passed);
}

TEST_CASE("a contact that opens before the watchdog could have acted proves nothing") {
  Site site = topping_up();
  REQUIRE(prove(site, "drop-by-heartbeat") == "done");
  site.pass(milliseconds(700));
  site.module_meets(ModuleFault::circuit_opened);
  site.pass(milliseconds(200));
  failed(site, "the permit dropped after 800 ms, before the watchdog could have acted");
}

TEST_CASE("a contact that opens later than the watchdog's time proves nothing") {
  Site site = topping_up();
  site.module_meets(ModuleFault::watchdog_stopped);
  REQUIRE(prove(site, "drop-by-heartbeat") == "done");
  site.pass(seconds(6));
  site.module_meets(ModuleFault::circuit_opened);
  site.pass(milliseconds(200));
  failed(site, "the permit dropped after 6100 ms, later than the watchdog's time");
}

TEST_CASE("a stop on site pressed when the watchdog is due does not pass for it, though its input is read later") {
  Site site = topping_up();
  REQUIRE(prove(site, "drop-by-heartbeat") == "done");
  site.pass(milliseconds(1800));
  site.module_meets(ModuleFault::circuit_opened);
  site.pass_module(milliseconds(100));
  REQUIRE_FALSE(result(site));
  CHECK_FALSE(site.newest().wanted[OutputKind::raise_permit]);
  site.input_happens("site_stop", true);
  site.pass(milliseconds(200));
  failed(site, "the stop on site was pressed");
}

TEST_CASE("without a reading of the stop on site behind the drop the proof fails") {
  Site site = topping_up();
  REQUIRE(prove(site, "drop-by-heartbeat") == "done");
  site.pass(milliseconds(1900));
  for (std::size_t b = 0; b < site.job().polls.blocks.size(); ++b)
    if (!site.job().polls.blocks[b].inputs.empty()) site.block_is_missing(b);
  site.pass(seconds(4));
  CHECK_FALSE(result(site));
  site.pass(seconds(2));
  failed(site, "the stop on site was not read after the drop");
}

TEST_CASE("a module that does not answer throughout drops the permit for its own reasons") {
  Site site = topping_up();
  REQUIRE(prove(site, "drop-by-heartbeat") == "done");
  site.pass(milliseconds(500));
  site.module_meets(ModuleFault::cable_pulled);
  site.pass(milliseconds(200));
  failed(site, "the output module did not answer throughout");
}

TEST_CASE("a permit that was not written on throughout proves nothing by going off") {
  Site site = topping_up();
  REQUIRE(prove(site, "drop-by-heartbeat") == "done");
  site.pass(milliseconds(500));
  OutputReport report{.at = site.now, .facts = site.state().outputs.facts};
  report.readback.fill(false);
  site.tell(report);
  failed(site, "the permit was not commanded throughout");
}

TEST_CASE("a watchdog that does not take the permit in time is a HOLD, and the proof has failed") {
  Site site = topping_up();
  site.module_meets(ModuleFault::watchdog_stopped);
  REQUIRE(prove(site, "drop-by-heartbeat") == "done");
  site.pass(seconds(9));
  CHECK(site.state().proofs.run.running);
  site.pass(seconds(2));
  REQUIRE(result(site));
  CHECK_FALSE(result(site)->passed);
  CHECK(site.has("proof drop-by-heartbeat", Level::hold));
  CHECK_FALSE(site.newest().wanted[OutputKind::raise_permit]);
}

TEST_CASE("a contact that stays on through a proof is a STOP, and the proof has not passed") {
  Site site = topping_up();
  site.module_meets(ModuleFault::contact_welded);
  REQUIRE(prove(site, "drop-by-heartbeat") == "done");
  site.pass(seconds(12));
  REQUIRE(result(site));
  CHECK_FALSE(result(site)->passed);
  CHECK(site.has("output raise permit", Level::stop));
}

TEST_CASE("pressure that falls by more than the plan allows, or a ram that moves, fails the drop") {
  Site site = topping_up();
  REQUIRE(prove(site, "drop-by-command") == "done");
  site.pass(seconds(1));
  lose_pressure(site, "P3", 0.03);
  site.pass(seconds(3));
  REQUIRE(result(site));
  CHECK_FALSE(result(site)->passed);
  CHECK(site.has("proof drop-by-command", Level::hold));
  Site moved = topping_up();
  REQUIRE(prove(moved, "drop-by-command") == "done");
  moved.pass(seconds(1));
  moved.shows("S2", 19.9 * mm);
  moved.pass(seconds(3));
  REQUIRE(result(moved));
  CHECK_FALSE(result(moved)->passed);
}

TEST_CASE("a module that keeps the permit while its cable is out proves nothing by the off that is written when it is back") {
  Site site = topping_up();
  site.module_meets(ModuleFault::watchdog_stopped);
  REQUIRE(prove(site, "drop-by-cable") == "done");
  site.module_meets(ModuleFault::cable_pulled);
  site.pass(seconds(4));
  site.module_meets(ModuleFault::cable_back);
  site.pass(seconds(5));
  REQUIRE(result(site));
  CHECK_FALSE(result(site)->passed);
  CHECK(result(site)->facts == "the module kept the permit while its cable was out");
  CHECK_FALSE(site.newest().wanted[OutputKind::raise_permit]);
  CHECK_FALSE(site.state().proofs.has(Proof::drop_by_cable));
}

TEST_CASE("what the load loses while the cable is pulled counts") {
  Site site = topping_up();
  REQUIRE(prove(site, "drop-by-cable") == "done");
  site.module_meets(ModuleFault::cable_pulled);
  site.pass(milliseconds(300));
  lose_pressure(site, "P1", 0.05);  // Before the module can be seen again.
  site.pass(seconds(4));
  site.module_meets(ModuleFault::cable_back);
  site.pass(seconds(4));
  REQUIRE(result(site));
  CHECK_FALSE(result(site)->passed);
}

TEST_CASE("a proof that failed says by how much what it watched fell, and how much is allowed, until it is begun anew") {
  Site site = topping_up();
  REQUIRE(prove(site, "drop-by-command") == "done");
  CHECK(site.state().proofs.failures[1].why.empty());
  site.pass(seconds(1));
  lose_pressure(site, "P3", 0.03);
  site.pass(seconds(3));
  REQUIRE(result(site));
  CHECK(result(site)->facts.starts_with("pressure of J3 fell "));
  CHECK(result(site)->facts.ends_with(" bar is allowed"));
  const ProofFailure& failure = site.state().proofs.failures[1];
  CHECK(failure.why == "pressure of J3 fell");
  REQUIRE((failure.lost && failure.allowed));
  CHECK(failure.allowed->si > 0);
  CHECK(failure.lost->si == Approx(failure.allowed->si * 3 / 2).epsilon(0.05));  // 3 % where 2 % are allowed, in counts.
  CHECK(site.state().proofs.failures[2].why.empty());
}

TEST_CASE("a permit that ends for another reason proves nothing, and is no failure") {
  for (const Act act : {Act::permit_end, Act::stop}) {
    Site site = topping_up();
    REQUIRE(prove(site, "drop-by-heartbeat") == "done");
    site.act({.what = act});
    site.pass(seconds(5));
    REQUIRE(result(site));
    CHECK_FALSE(result(site)->passed);
    CHECK_FALSE(site.has("proof drop-by-heartbeat", Level::hold));
    CHECK_FALSE(site.state().proofs.has(Proof::drop_by_heartbeat));
    CHECK_FALSE(site.newest().withhold_heartbeat);
  }
}

TEST_CASE("a restart interrupts a proof; it is to be done again") {
  Site site = topping_up();
  REQUIRE(prove(site, "drop-by-heartbeat") == "done");
  site.tell(Started{"a boot", "a test", false});
  site.tell(JobInForce{site.shared_job()});
  site.pass(seconds(5));
  REQUIRE(result(site));
  CHECK_FALSE(result(site)->passed);
  CHECK_FALSE(site.state().proofs.run.running);
}

TEST_CASE("a drop is proved under load, with the permit seen on, in a snug stage, one at a time") {
  Site site = snug();
  CHECK(prove(site, "drop-by-command") == "no-permit");
  CHECK(prove(site, "drop-by-magic") == "unknown-proof");
  CHECK(prove(site, "heartbeat") == "not-in-this-stage");
  REQUIRE(top_up(site) == "done");
  site.pass(seconds(1));
  REQUIRE(prove(site, "drop-by-heartbeat") == "done");
  CHECK(prove(site, "drop-by-command") == "proof-running");
  Site empty = snug(Ratio::from_si(0.9));  // So wide a band that a load may go unnoticed.
  for (const char* jack : {"P1", "P2", "P3", "P4"}) empty.shows(jack, 0);
  empty.pass(seconds(12));
  REQUIRE(empty.act({.what = Act::permit_give, .object = "raise", .by = supervisor}) == "done");
  empty.pass(seconds(1));
  CHECK(prove(empty, "drop-by-command") == "not-under-load");  // Nothing can fall where nothing stands.
}

TEST_CASE("no permit is given while a proof runs, but a recover permit, which ends it") {
  Site site = topping_up();
  REQUIRE(prove(site, "drop-by-command") == "done");
  CHECK(top_up(site) == "proof-running");
  site.act({.what = Act::stop});
  CHECK(site.act({.what = Act::permit_give, .object = "recover", .value = "J1 J3 up to 60 kN", .by = engineer, .with = supervisor}) ==
        "done");
  CHECK_FALSE(site.state().proofs.run.running);
  CHECK_FALSE(site.state().proofs.has(Proof::drop_by_command));
}

TEST_CASE("a proof done again counts as not passed until it has passed again") {
  Site site = topping_up();
  REQUIRE(site.state().proofs.has(Proof::drop_by_command));
  REQUIRE(prove(site, "drop-by-command") == "done");
  CHECK_FALSE(site.state().proofs.has(Proof::drop_by_command));
}

TEST_CASE("a permit to raise does not end by standing in the band while its drop is waited for") {
  Site site = topping_up();
  site.pass(milliseconds(3500));
  REQUIRE(prove(site, "drop-by-cable") == "done");
  site.pass(seconds(20));
  CHECK(site.newest().wanted[OutputKind::raise_permit]);
  CHECK(site.state().proofs.run.running);
}

TEST_CASE("one drop that is not proved is enough to refuse raising") {
  Site site = topping_up();
  REQUIRE(prove(site, "drop-by-command") == "done");  // Begun again, and broken off: what had passed does not count.
  site.tell(Started{"a boot", "a test", false});
  site.tell(JobInForce{site.shared_job()});
  site.pass(seconds(15));
  reset_all(site);
  REQUIRE(site.act({.what = Act::stage_abandon, .by = supervisor}) == "done");
  REQUIRE(site.act({.what = Act::stage_skip, .object = "Snug", .by = engineer, .with = supervisor}) == "done");
  REQUIRE(site.act({.what = Act::stage_enter, .object = "Raise", .by = supervisor}) == "done");
  site.pass(seconds(15));
  REQUIRE(site.state().proofs.has(Proof::heartbeat));
  REQUIRE(site.state().proofs.has(Proof::drop_by_cable));
  CHECK(site.act({.what = Act::permit_give, .object = "raise", .by = supervisor}) == "not-proved");
}

}  // namespace standfast::test
