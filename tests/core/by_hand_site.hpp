// The site of tests/scenarios/by-hand: one jack, a gauge on a wire, a level that is read by hand every minute and a feeler
// every two.
#pragma once

#include <catch2/catch.hpp>

#include "daemon/core/by_hand.hpp"
#include "daemon/core/criteria.hpp"
#include "tests/core/changes.hpp"
#include "tests/support/rehearsed.hpp"

namespace standfast::test {

inline const PersonClaim surveyor{"N. Field", Role::surveyor};

inline std::shared_ptr<const Job> bench_job() {
  static const std::shared_ptr<const Job> job = rehearsed("010-read-by-hand").job;
  return job;
}

inline std::string enter(Site& site, const std::string& channel, const std::string& value, const std::string& again,
                  const PersonClaim& by = surveyor) {
  return site.act({.what = Act::enter_reading, .object = channel, .value = value + ", again " + again, .by = by});
}

inline std::string enter(Site& site, const std::string& channel, const std::string& value) { return enter(site, channel, value, value); }

inline std::string words_of(const Site& site) {
  for (auto row = site.rows.rbegin(); row != site.rows.rend(); ++row)
    if (const auto* answer = std::get_if<ActionAnswer>(&*row)) return answer->text;
  return {};
}

// Before any stage: no limit of the plan is in force.
inline Site fresh() {
  Site site(bench_job());
  site.shows("S1", 20 * mm);
  site.shows("P1", 0);
  site.pass(seconds(1));
  return site;
}

// In Commission, whose limits need LEVEL: 0.4 mm has just been entered, and everything is reset.
inline Site commissioning() {
  Site site = fresh();
  REQUIRE(enter(site, "LEVEL", "0.4 mm") == "done");
  REQUIRE(site.act({.what = Act::stage_enter, .object = "Commission", .by = supervisor}) == "done");
  site.pass(seconds(1));
  reset_all(site);
  REQUIRE(site.signal() == Level::none);
  return site;
}

// With a baseline stage that runs, and its five seconds passed.
inline Site at_baseline() {
  Site site = fresh();
  REQUIRE(site.act({.what = Act::stage_skip, .object = "Commission", .by = engineer, .with = supervisor}) == "done");
  REQUIRE(site.act({.what = Act::stage_enter, .object = "Baseline", .by = supervisor}) == "done");
  site.pass(seconds(8));
  return site;
}

inline std::optional<MarkValue> baseline_of(const Site& site, const std::string& channel) {
  const auto& marks = site.state().values.references.baseline.channels;
  const auto place = place_by_name(site.job().rig.channels, channel);
  return place < marks.size() ? marks[place] : std::nullopt;
}

inline std::string criterion_text(const Site& site, const std::string& name) {
  for (const CriterionSeen& each : criteria_of(site.state()))
    if (each.name == name) return each.facts;
  return "no such criterion";
}

inline std::string commission(Site& site) {
  return site.act({.what = Act::permit_give, .object = "commission", .by = supervisor, .with = technician});
}

}  // namespace standfast::test
