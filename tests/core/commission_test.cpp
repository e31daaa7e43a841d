// The permit for commissioning: up to a stated pressure, and higher only with the jacks shut off by two persons' word.
#include <catch2/catch.hpp>

#include "tests/core/changes.hpp"
#include "tests/support/rehearsed.hpp"

namespace standfast::test {
namespace {

// A tenth of the lowest planned pressure: 22.5 % of 1480 kN on 95.03 cm2, so 35.04 bar.
Site commissioning() {
  Site site = first_start(rehearsed("001-ready-to-raise").job);
  REQUIRE(site.act({.what = Act::stage_enter, .object = "Commission", .by = supervisor}) == "done");
  site.pass(seconds(1));
  return site;
}

std::string give(Site& site, const std::string& value = {}) {
  return site.act({.what = Act::permit_give, .object = "commission", .value = value, .by = supervisor, .with = technician});
}

std::string shut(Site& site, const PersonClaim& by, const PersonClaim& with, std::int64_t pictures_old = 0) {
  return site.act({.what = Act::enter_note, .object = "jack valves shut", .value = "all four", .by = by, .with = with,
                   .pictures_old = pictures_old});
}

bool is_on(const Site& site) { return site.newest().wanted[OutputKind::raise_permit]; }

std::optional<Cause> why_ended(const Site& site) {
  std::optional<Cause> cause;
  for (const EffectRow& row : site.rows)
    if (const auto* change = std::get_if<PermitChange>(&row); change && !change->given) cause = change->cause;
  return cause;
}

}  // namespace

TEST_CASE("a permit to commission ends above a tenth of the lowest planned pressure, at any jack") {
  for (const char* pressure : {"P1", "P2", "P3", "P4"}) {
    Site site = commissioning();
    REQUIRE(give(site) == "done");
    site.shows(pressure, 34.9 * bar);
    site.pass(seconds(1));
    CHECK(is_on(site));
    site.shows(pressure, 35.2 * bar);
    site.pass(milliseconds(200));
    CHECK_FALSE(is_on(site));
    CHECK(why_ended(site) == Cause::bound_reached);
  }
}

TEST_CASE("a permit to commission up to less than the usual pressure ends there") {
  Site site = commissioning();
  REQUIRE(give(site, "up to 20 bar") == "done");
  site.shows("P3", 21 * bar);
  site.pass(milliseconds(200));
  CHECK(why_ended(site) == Cause::bound_reached);
}

TEST_CASE("where the plan states a pressure for commissioning, that is the usual one") {
  Site site = commissioning();
  change_job(site, [](Job& job) { stage_of(job, "Commission").pressure_limit = Pressure::from_si(50 * bar); });
  site.pass(seconds(1));
  CHECK(give(site, "up to 51 bar") == "above-usual");
  CHECK(give(site, "up to 50 bar") == "done");
}

TEST_CASE("more than the usual pressure needs the jack valves shut by the word of two persons, who look at the newest picture") {
  Site site = commissioning();
  CHECK(give(site, "up to 100 bar") == "above-usual");
  CHECK(shut(site, technician, nobody) == "not-permitted");
  CHECK(shut(site, technician, technician) == "not-permitted");
  CHECK(shut(site, technician, supervisor, 1) == "picture-changed");
  CHECK(give(site, "up to 100 bar") == "above-usual");
  CHECK(shut(site, technician, supervisor) == "done");
  CHECK(give(site, "up to 100 bar") == "done");
  site.shows("P1", 99 * bar);
  site.pass(seconds(1));
  CHECK(is_on(site));
  site.shows("P1", 101 * bar);
  site.pass(milliseconds(200));
  CHECK_FALSE(is_on(site));
}

TEST_CASE("that the jack valves are shut counts in the stage in which it was entered, and in no other") {
  Site site = commissioning();
  REQUIRE(shut(site, technician, supervisor) == "done");
  REQUIRE(site.act({.what = Act::stage_abandon, .by = supervisor}) == "done");
  REQUIRE(site.act({.what = Act::stage_enter, .object = "Commission", .by = supervisor}) == "done");
  CHECK(give(site, "up to 100 bar") == "above-usual");
}

}  // namespace standfast::test
