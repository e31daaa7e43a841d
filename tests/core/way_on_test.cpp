// What a refusal says: not only that it does not go, but how it goes on.
#include <catch2/catch.hpp>
#include <limits>

#include "daemon/core/criteria.hpp"
#include "tests/support/site.hpp"

namespace standfast::test {
namespace {

// The text of the answer, accepted or refused.
std::string said(Site& site, const Site::Wish& wish) {
  site.act(wish);
  std::string text;
  for (const EffectRow& row : site.rows)
    if (const auto* answer = std::get_if<ActionAnswer>(&row)) text = answer->text;
  return text;
}

bool has(const std::string& text, const std::string& part) {
  CAPTURE(text, part);
  const bool found = text.find(part) != std::string::npos;
  CHECK(found);
  return found;
}

Site snug_again() {
  Site site("001-ready-to-raise");
  auto fresh = std::make_shared<Job>(site.job());
  for (Step& step : fresh->plan.stages[2].steps) step.observe = minutes(10);
  site.tell(JobInForce{fresh});
  site.pass(seconds(1));
  REQUIRE(site.act({.what = Act::stage_enter, .object = "Snug", .by = supervisor}) == "done");
  site.pass(seconds(1));
  return site;
}

}  // namespace

TEST_CASE("a permit that does not belong names the one that does") {
  Site site = snug_again();
  has(said(site, {.what = Act::permit_give, .object = "raise", .by = supervisor}), "`permit top-up` does");
  has(said(site, {.what = Act::permit_give, .object = "commission", .by = supervisor, .with = engineer}), "`permit top-up` does");
  Site running("002-to-full-step");
  has(said(running, {.what = Act::permit_give, .object = "top-up", .by = supervisor}), "`permit raise` does");
}

TEST_CASE("a proof that needs a permit names the permit of its stage") {
  Site site = snug_again();
  has(said(site, {.what = Act::prove_start, .object = "drop-by-command", .by = technician}), "`permit top-up`");
}

TEST_CASE("a permit for named circuits says that the rig has one contact for all") {
  Site site("002-to-full-step");
  has(said(site, {.what = Act::permit_give, .object = "raise", .value = "A", .by = supervisor}),
      "one permit contact: the named circuits are the crew's word, not a switch");
  for (const char* circuits : {"A B", ""}) {
    REQUIRE(site.act({.what = Act::permit_end}) == "done");
    CHECK(said(site, {.what = Act::permit_give, .object = "raise", .value = circuits, .by = supervisor}).find("contact") ==
          std::string::npos);
  }
}

TEST_CASE("a stage of nearly that name is named, and a time without its unit shows how it goes") {
  Site site("002-to-full-step");
  for (const Act act : {Act::stage_enter, Act::stage_skip})
    if (act == Act::stage_skip || !live_stage(site.state().run, site.job().plan))
      has(said(site, {.what = act, .object = "baseline", .by = supervisor, .with = engineer}), "did you mean 'Baseline'?");
  has(said(site, {.what = Act::silence, .value = "60"}), "as in '60 s'");
}

TEST_CASE("a revision that is not the one offered is to be offered first") {
  Site site("002-to-full-step");
  has(said(site, {.what = Act::adopt, .value = "aaaa", .by = engineer, .with = supervisor}), "`offer` comes first");
  REQUIRE(site.act({.what = Act::offer, .value = "aaaa", .by = technician}) == "done");
  has(said(site, {.what = Act::adopt, .value = "bbbb", .by = engineer, .with = supervisor}),
      "the files changed since the offer, offer them first");
}

TEST_CASE("what is missing for a proposal stands before what is met") {
  Site site("002-to-full-step");
  const std::string text = said(site, {.what = Act::stage_propose, .by = technician});
  REQUIRE(has(text, ": not met"));
  REQUIRE(has(text, ": met"));
  CHECK(text.rfind(": not met") < text.find(": met"));
}

TEST_CASE("a value is written at the resolution at which it is compared") {
  const auto text = [](Base base, double si, Per per = Per::none) {
    return value_text({.quality = Quality::good, .value = {{base, per}, si}});
  };
  CHECK(text(Base::pressure, 2113124.9999999995) == "21.13125 bar");
  CHECK(text(Base::pressure, -0.2) == "0 bar");
  CHECK(text(Base::length, 0.0012000000000000001) == "1.2 mm");
  CHECK(text(Base::length, 0.1 + 0.2) == "300 mm");
  CHECK(text(Base::force, 96200.00049) == "96.2 kN");
  CHECK(text(Base::temperature, 293.15) == "20 degC");
  CHECK(text(Base::length, std::numeric_limits<double>::quiet_NaN()) == "no number");
}

}  // namespace standfast::test
