// A doubt that the engineer accepts by name: for a permit, in this stage, and for nothing else.
#include <catch2/catch.hpp>

#include "tests/core/changes.hpp"

namespace standfast::test {
namespace {

void overdue(Site& site, const std::string& channel) {
  change_job(site, [&](Job& job) { channel_of(job, channel).certificate.due = "2020-02-29"; });
}

std::string accept(Site& site, const std::string& channel) {
  return site.act({.what = Act::accept_uncertain, .object = channel, .by = engineer});
}
std::string give(Site& site, const std::string& kind) { return site.act({.what = Act::permit_give, .object = kind, .by = supervisor}); }

void enter(Site& site, const std::string& stage) {
  REQUIRE(site.act({.what = Act::stage_enter, .object = stage, .by = supervisor}) == "done");
  site.pass(seconds(1));
}

const ProofResult* newest_proof(const Site& site) {
  const ProofResult* newest = nullptr;
  for (const EffectRow& row : site.rows)
    if (const auto* each = std::get_if<ProofResult>(&row)) newest = each;
  return newest;
}

}  // namespace

TEST_CASE("what was accepted in one stage is asked for again in the next, and when the same stage is entered again") {
  Site site("002-to-full-step");
  overdue(site, "P1");
  site.pass(seconds(12));
  REQUIRE(accept(site, "P1") == "done");
  REQUIRE(give(site, "raise") == "done");
  REQUIRE(site.act({.what = Act::stage_abandon, .by = supervisor}) == "done");
  enter(site, "Raise");
  CHECK(give(site, "raise") == "reading-uncertain");
  CHECK(accept(site, "P1") == "done");
  CHECK(give(site, "raise") == "done");
}

TEST_CASE("nobody can accept a doubtful pressure or travel for a proof: it is not begun") {
  for (const char* channel : {"P1", "S2"}) {
    Site site("001-ready-to-raise");
    change_job(site, [](Job& job) {
      for (Step& step : stage_of(job, "Snug").steps) step.observe = minutes(10);
    });
    overdue(site, channel);
    site.pass(seconds(1));
    enter(site, "Snug");
    REQUIRE(accept(site, channel) == "done");
    site.pass(seconds(1));
    REQUIRE(give(site, "top-up") == "done");
    site.pass(seconds(1));
    CHECK(site.act({.what = Act::prove_start, .object = "drop-by-command", .by = technician}) == "reading-doubtful");
    CHECK_FALSE(site.state().proofs.run.running);
    CHECK(site.newest().wanted[OutputKind::raise_permit]);
  }
}

TEST_CASE("a pressure or travel that is lost in the watch of a proof: it does not pass") {
  const std::pair<const char*, const char*> lost[] = {{"P1", "no pressure of J1 to go by"}, {"S2", "no travel of J2 to go by"}};
  for (const auto& [channel, why] : lost) {
    Site site("001-ready-to-raise");
    change_job(site, [](Job& job) {
      for (Step& step : stage_of(job, "Snug").steps) step.observe = minutes(10);
      job.plan.proofs.watch = seconds(10);
    });
    site.pass(seconds(1));
    enter(site, "Snug");
    site.pass(seconds(1));
    REQUIRE(give(site, "top-up") == "done");
    site.pass(seconds(1));
    REQUIRE(site.act({.what = Act::prove_start, .object = "drop-by-command", .by = technician}) == "done");
    site.is_dead(channel);
    site.pass(seconds(5));
    REQUIRE(newest_proof(site));
    CHECK_FALSE(newest_proof(site)->passed);
    CHECK(newest_proof(site)->facts == why);
    CHECK_FALSE(site.state().proofs.has(Proof::drop_by_command));
    CHECK(site.has("proof drop-by-command", Level::hold));
  }
}

TEST_CASE("a slope of doubtful readings guards like any other, and gives a permit only where its gauge is accepted") {
  Site site("002-to-full-step");
  change_job(site, [](Job& job) {
    channel_of(job, "B1").certificate.due = "2020-02-29";
    Limit rate = limit_of(job, "Raise", "head rate");
    rate.name = "base rate";
    rate.of.subjects = {place_by_name(job.rig.points, "BASE_A")};
    rate.hold = std::exchange(rate.review, std::nullopt);
    stage_of(job, "Raise").limits.push_back(rate);
  });
  site.pass(seconds(12));
  const Judged& slope = memory_of(site, "base rate").last;
  CHECK(slope.high.quality == Quality::uncertain);
  CHECK(slope.high.cause == Cause::certificate_overdue);
  CHECK(slope.high.has_number());
  CHECK(give(site, "raise") == "reading-uncertain");
  CHECK(accept(site, "B1") == "done");
  CHECK(give(site, "raise") == "done");
  for (int tenth = 1; tenth <= 60; ++tenth) {
    site.shows("B1", -0.01 * mm * tenth);  // 6 mm a minute; two are allowed.
    site.pass(milliseconds(100));
  }
  CHECK(site.has("base rate", Level::hold));
}

}  // namespace standfast::test
