// The recover permit: the only way to act during HOLD or STOP, and how tightly it is bound.
#include <catch2/catch.hpp>

#include "tests/core/changes.hpp"

namespace standfast::test {
namespace {

const std::string down = "J1 J3 down to 80 kN further 0.2 mm", up = "J1 J3 up to 120 kN further 0.2 mm";

// The head stands at `value` and has tripped what it trips.
Site with_head(double value) {
  Site site("002-to-full-step");
  site.pass(seconds(1));
  head_at(site, value);
  site.pass(seconds(3));
  return site;
}
Site held() { return with_head(1.3 * mm); }
Site stopped() { return with_head(2.0 * mm); }

std::string recover(Site& site, const PersonClaim& by, const PersonClaim& with, const std::string& value = up) {
  return site.act({.what = Act::permit_give, .object = "recover", .value = value, .by = by, .with = with});
}

bool raise_is_on(const Site& site) { return site.newest().wanted[OutputKind::raise_permit]; }
bool lower_is_on(const Site& site) { return site.newest().wanted[OutputKind::lower_permit]; }
bool any_is_on(const Site& site) { return raise_is_on(site) || lower_is_on(site); }

Cause why_ended(const Site& site) {
  for (std::size_t i = site.rows.size(); i-- > 0;)
    if (const auto* change = std::get_if<PermitChange>(&site.rows[i])) return change->cause;
  return Cause::none;
}

Site recovering(const std::string& value = up) {
  Site site = held();
  REQUIRE(site.signal() == Level::hold);
  REQUIRE(recover(site, supervisor, technician, value) == "done");
  site.pass(seconds(1));
  REQUIRE(any_is_on(site));
  return site;
}

void ends(Site& site, Cause cause) {
  CHECK_FALSE(any_is_on(site));
  CHECK(why_ended(site) == cause);
  CHECK(site.signal() >= Level::hold);
}

}  // namespace

TEST_CASE("recover at HOLD is given by supervisor and a second person") {
  Site site = held();
  CHECK(recover(site, supervisor, nobody) == "not-permitted");
  CHECK(recover(site, supervisor, supervisor) == "not-permitted");
  CHECK(recover(site, technician, auditor) == "not-permitted");
  CHECK(recover(site, supervisor, auditor) == "done");
  CHECK(raise_is_on(site));
}

TEST_CASE("recover at STOP is given by engineer and a second person") {
  Site site = stopped();
  REQUIRE(site.signal() == Level::stop);
  CHECK(recover(site, supervisor, technician) == "not-permitted");
  CHECK(recover(site, supervisor, other_supervisor) == "not-permitted");
  CHECK(recover(site, engineer, nobody) == "not-permitted");
  CHECK(recover(site, supervisor, engineer) == "done");
  CHECK(raise_is_on(site));
  CHECK(site.newest().wanted[OutputKind::stop_relay]);
}

TEST_CASE("recover resets nothing: the signal, the beacon and every alarm stand through it") {
  Site site = stopped();
  const std::size_t open = site.state().alarms.open.size();
  REQUIRE(recover(site, engineer, supervisor) == "done");
  site.pass(seconds(10));
  CHECK(site.signal() == Level::stop);
  CHECK(site.state().alarms.open.size() == open);
  CHECK(site.newest().wanted[OutputKind::beacon]);
  CHECK(site.act({.what = Act::permit_end}) == "done");
  CHECK_FALSE(any_is_on(site));
  CHECK_FALSE(site.newest().wanted[OutputKind::stop_relay]);
}

TEST_CASE("recover goes in one direction: up energises the raise permit, down the lower permit, never both") {
  Site upward = recovering(up), downward = recovering(down);
  CHECK(raise_is_on(upward));
  CHECK_FALSE(lower_is_on(upward));
  CHECK(lower_is_on(downward));
  CHECK_FALSE(raise_is_on(downward));
}

TEST_CASE("recover belongs to HOLD and STOP") {
  Site site("002-to-full-step");
  site.pass(seconds(1));
  CHECK(recover(site, supervisor, technician) == "no-hold");
}

TEST_CASE("recover says which jacks, which way, how far, and how much further what has tripped may go") {
  Site site = held();
  for (const char* value : {"", "J1", "J1 up to", "up to 120 kN further 0.2 mm", "J1 up to 120 further 0.2 mm",
                            "J1 up to 120 mm further 0.2 mm"})
    CHECK(recover(site, supervisor, technician, value) == "unreadable");
  CHECK(recover(site, supervisor, technician, "J9 up to 120 kN further 0.2 mm") == "unknown-jack");
  CHECK(recover(site, supervisor, technician, "J1 up to 700 kN further 0.2 mm") == "above-rating");
  CHECK(recover(site, supervisor, technician, "J1 up to 120 kN") == "no-bound");
  CHECK(recover(site, supervisor, technician, "J1 up to 120 kN further 5 kN") == "no-bound");  // Of the head it says nothing.
  CHECK(recover(site, supervisor, technician, "J1 up to 120 kN further 5 kN, 0.2 mm") == "done");
}

TEST_CASE("where no limit has tripped, jacks, direction and load are all that recover names") {
  Site site("002-to-full-step");
  site.is_dead("P4");
  site.pass(seconds(1));
  REQUIRE(site.signal() == Level::hold);
  CHECK(recover(site, supervisor, technician, "J1 J3 up to 120 kN") == "done");
  site.pass(seconds(1));
  CHECK(raise_is_on(site));  // P4 is no reading of these jacks.
}

TEST_CASE("recover ends after five minutes") {
  Site site = recovering();
  site.pass(minutes(5) - seconds(2), seconds(1));
  CHECK(raise_is_on(site));
  site.pass(seconds(2), seconds(1));
  ends(site, Cause::timed_out);
}

TEST_CASE("recover ends where a named jack comes to its bound, up or down") {
  Site site = recovering(up);  // 101.75 kN stand on J1 and J3.
  site.shows("P2", 120 * kN / 95.03e-4);
  site.pass(seconds(1));
  CHECK(raise_is_on(site));  // J2 is not named.
  site.shows("P3", 120.2 * kN / 95.03e-4);
  site.pass(milliseconds(200));
  ends(site, Cause::bound_reached);
  Site lowered = recovering(down);
  lowered.shows("P1", 79.8 * kN / 95.03e-4);
  lowered.pass(milliseconds(200));
  ends(lowered, Cause::bound_reached);
}

TEST_CASE("what has tripped may go so much further and no more, and back as far as it likes") {
  Site site = recovering();  // The head tripped at 1.3 mm; 0.2 mm further.
  head_at(site, 1.49 * mm);
  site.pass(seconds(1));
  CHECK(raise_is_on(site));
  head_at(site, 0);
  site.pass(seconds(1));
  CHECK(raise_is_on(site));
  head_at(site, 1.51 * mm);
  site.pass(milliseconds(200));
  ends(site, Cause::bound_reached);
}

TEST_CASE("a recover permit given at HOLD does not survive a STOP") {
  Site site = recovering("J1 J3 up to 120 kN further 2 mm");
  head_at(site, 1.9 * mm);  // Within what was agreed, but beyond the STOP.
  site.pass(seconds(2));
  CHECK(site.signal() == Level::stop);
  ends(site, Cause::signal_raised);
}

TEST_CASE("a recover permit given at STOP ends with another STOP, and with a called one") {
  Site site = stopped();
  REQUIRE(recover(site, engineer, supervisor) == "done");
  site.pass(seconds(1));
  site.shows("B1", 7 * mm);
  site.pass(seconds(2));
  CHECK(site.has("base A", Level::stop));
  ends(site, Cause::signal_raised);
  Site called = stopped();
  REQUIRE(recover(called, engineer, supervisor) == "done");
  called.act({.what = Act::stop});
  ends(called, Cause::called_stop);
}

TEST_CASE("rating, stroke and instrument range end a recover permit") {
  Site rated = recovering("J1 J3 up to 660 kN further 0.2 mm");
  rated.shows("P2", 701 * bar);  // J2 is not named, and beyond its rating.
  rated.pass(seconds(2));
  CHECK(rated.has("rating J2", Level::stop));
  ends(rated, Cause::signal_raised);
  Site out = recovering();
  out.shows("S1", 150.1 * mm);
  out.pass(seconds(2));
  CHECK(out.has("stroke J1", Level::stop));
  CHECK_FALSE(any_is_on(out));
  Site off = recovering();
  off.shows("S3", 200 * mm);
  off.pass(milliseconds(200));
  ends(off, Cause::reading_bad);
}

TEST_CASE("recover ends when pressure or travel of a named jack has no number, and not for another's") {
  Site site = recovering();
  site.is_dead("P2");
  site.pass(seconds(1));
  CHECK(raise_is_on(site));
  site.is_dead("P1");
  site.pass(milliseconds(200));
  ends(site, Cause::reading_bad);
}

TEST_CASE("recover ends when what has tripped loses its value, unless the persons said they go on without") {
  Site site("002-to-full-step");
  auto one_gauge = std::make_shared<Job>(site.job());
  one_gauge->rig.points[0].gauges = {ChannelId{9}};
  REQUIRE(one_gauge->rig.channels[9].name == "G2");  // The other would guard on.
  site.tell(JobInForce{one_gauge});
  head_at(site, 1.3 * mm);
  site.pass(seconds(3));
  REQUIRE(recover(site, supervisor, technician) == "done");
  site.is_dead("G2");
  site.pass(milliseconds(200));
  ends(site, Cause::reading_bad);
  CHECK(recover(site, supervisor, technician) == "reading-bad");
  CHECK(recover(site, supervisor, technician, up + " without head") == "done");
  site.pass(seconds(1));
  CHECK(raise_is_on(site));
}

TEST_CASE("recover is refused without outputs, without a record, and ends with them") {
  Site site = held();
  site.tell(RecordHealth{RecordState::failed});
  CHECK(recover(site, supervisor, technician) == "record");
  Site silent = recovering();
  silent.module_meets(rehearse::ModuleFault::cable_pulled);
  silent.pass(seconds(2));
  ends(silent, Cause::output_silent);
}

TEST_CASE("recover can be given between two stages, and ends when the next is entered") {
  Site site = held();
  REQUIRE(site.act({.what = Act::stage_abandon, .by = supervisor}) == "done");
  CHECK(recover(site, supervisor, technician) == "done");
  site.pass(seconds(1));
  CHECK(raise_is_on(site));
  CHECK(site.act({.what = Act::stage_enter, .object = "Raise", .by = supervisor}) == "done");
  CHECK_FALSE(any_is_on(site));
}

TEST_CASE("the stop on site ends recover, and letting it go does not bring the permit back") {
  Site site = recovering();
  site.input_happens("site_stop", true);
  site.pass(milliseconds(300));
  ends(site, Cause::site_stop);
  CHECK(recover(site, supervisor, technician) == "site-stop");
  site.input_happens("site_stop", false);
  site.pass(seconds(2));
  CHECK_FALSE(any_is_on(site));
}

TEST_CASE("a STOP that was latched and comes back ends recover like a new one") {
  Site site("002-to-full-step");
  site.pass(seconds(1));
  site.module_meets(rehearse::ModuleFault::contact_welded, OutputKind::lower_permit);
  site.pass(seconds(2));
  REQUIRE(site.has("output lower permit", Level::stop));
  site.module_meets(rehearse::ModuleFault::contact_mended, OutputKind::lower_permit);
  site.pass(seconds(2));
  REQUIRE(recover(site, engineer, supervisor) == "done");
  site.pass(seconds(1));
  REQUIRE(raise_is_on(site));
  site.module_meets(rehearse::ModuleFault::contact_welded, OutputKind::lower_permit);
  site.pass(seconds(2));
  ends(site, Cause::signal_raised);
}

TEST_CASE("a stop on site that has no input ends recover by its open circuit, and letting it go closes nothing") {
  Site site("002-to-full-step");
  change_job(site, [](Job& job) {
    for (Block& block : job.polls.blocks) block.inputs.clear();
    job.rig.inputs.clear();
  });
  site.pass(seconds(1));
  head_at(site, 1.3 * mm);
  site.pass(seconds(3));
  REQUIRE(site.signal() == Level::hold);
  REQUIRE(site.act({.what = Act::permit_give, .object = "recover", .value = "J1 J3 up to 120 kN further 0.2 mm", .by = supervisor,
                    .with = technician}) == "done");
  site.pass(seconds(1));
  REQUIRE(site.newest().wanted[OutputKind::raise_permit]);
  site.module_meets(rehearse::ModuleFault::circuit_opened);
  site.pass(seconds(1));
  CHECK_FALSE(site.newest().wanted[OutputKind::raise_permit]);
  site.module_meets(rehearse::ModuleFault::circuit_closed);
  site.pass(seconds(1));
  CHECK_FALSE(site.newest().wanted[OutputKind::raise_permit]);
}

TEST_CASE("recover given while the stop on site is pressed and its input is not read does not outlast its open circuit") {
  Site site("002-to-full-step");
  site.pass(seconds(1));
  for (std::size_t b = 0; b < site.job().polls.blocks.size(); ++b)
    if (!site.job().polls.blocks[b].inputs.empty()) site.block_is_missing(b);
  site.pass(seconds(4));
  REQUIRE(site.has("input site_stop", Level::hold));
  site.module_meets(rehearse::ModuleFault::circuit_opened);
  site.pass(seconds(1));
  site.act({.what = Act::permit_give, .object = "recover", .value = "J1 J3 up to 120 kN", .by = supervisor, .with = technician});
  site.pass(seconds(1));
  CHECK_FALSE(site.newest().wanted[OutputKind::raise_permit]);
  site.module_meets(rehearse::ModuleFault::circuit_closed);
  site.pass(seconds(1));
  CHECK_FALSE(site.newest().wanted[OutputKind::raise_permit]);
}

}  // namespace standfast::test
