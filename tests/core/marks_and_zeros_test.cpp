// Marks that the plan names, stages that count from them, and zeros, which move a display and nothing else.
#include <catch2/catch.hpp>

#include "tests/core/changes.hpp"

namespace standfast::test {
namespace {

const PersonClaim other_engineer{"O. Heron", Role::engineer};

std::string enter(Site& site, const std::string& stage) {
  return site.act({.what = Act::stage_enter, .object = stage, .by = supervisor});
}

// Ready to raise; the plan has a mark of five seconds, taken in this stage, and raising has a limit that counts from it.
Site marked(const std::string& taken_in) {
  Site site("001-ready-to-raise");
  change_job(site, [&](Job& job) {
    Stage& stage = stage_of(job, taken_in);
    job.plan.marks.push_back({"snug stands", StageId{static_cast<std::size_t>(&stage - job.plan.stages.data())}, seconds(5)});
    Limit limit{.name = "since mark", .of = movement_of_head(job, Since::mark)};
    limit.hold = LevelBound{.above = Bound{.constant = 0.3 * mm}, .below = {}, .persist = seconds(1)};
    stage_of(job, "Raise").limits.push_back(limit);
  });
  site.pass(seconds(1));
  return site;
}

std::size_t rows_of_mark(const Site& site, const std::string& mark) {
  std::size_t count = 0;
  for (const EffectRow& row : site.rows)
    if (const auto* taken = std::get_if<MarkTaken>(&row); taken && taken->mark == mark) ++count;
  return count;
}

std::string propose(Site& site, const PersonClaim& by, const PersonClaim& with) {
  return site.act({.what = Act::zero_propose, .object = "G1", .by = by, .with = with});
}
std::string approve(Site& site, const PersonClaim& by) { return site.act({.what = Act::zero_approve, .object = "G1", .by = by}); }

const Zero& zero_of(const Site& site) { return site.state().zeros[place_by_name(site.job().rig.channels, "G1")]; }

Site at_work() {
  Site site("002-to-full-step");
  site.pass(seconds(1));
  return site;
}

}  // namespace

TEST_CASE("a mark that the plan names is taken over its window when its stage is entered, and counted from") {
  Site site = marked("Raise");
  head_at(site, 0.4 * mm);
  site.pass(seconds(1));
  REQUIRE(enter(site, "Raise") == "done");
  site.pass(seconds(4));
  CHECK(rows_of_mark(site, "snug stands") == 0);
  CHECK(memory_of(site, "since mark").last.high.cause == Cause::mark_missing);
  CHECK_FALSE(site.has("mark of since mark", Level::hold));  // It is being taken.
  site.pass(milliseconds(1500));
  CHECK(rows_of_mark(site, "snug stands") > 0);
  CHECK(memory_of(site, "since mark").last.high.quality == Quality::good);
  CHECK(memory_of(site, "since mark").last.high.value.si == Approx(0).margin(0.005 * mm));
  head_at(site, 0.75 * mm);
  site.pass(seconds(3));
  CHECK(site.has("since mark", Level::hold));
}

TEST_CASE("a stage that counts from a mark is not entered before the mark has been taken") {
  Site site = marked("Snug");  // Snug is closed, and was closed before the plan had this mark.
  CHECK(enter(site, "Raise") == "no-mark");
  REQUIRE(enter(site, "Snug") == "done");
  site.pass(seconds(6));
  CHECK(rows_of_mark(site, "snug stands") > 0);
  REQUIRE(site.act({.what = Act::stage_abandon, .by = supervisor}) == "done");
  REQUIRE(site.act({.what = Act::stage_skip, .object = "Snug", .by = engineer, .with = supervisor}) == "done");
  CHECK(enter(site, "Raise") == "done");
}

TEST_CASE("a stage that counts from a lock-off is not entered while nothing has been locked off") {
  Site site("001-ready-to-raise");
  change_job(site, [](Job& job) {
    Limit limit{.name = "since lock-off", .of = movement_of_head(job, Since::lock_off)};
    limit.hold = LevelBound{.above = Bound{.constant = 0.3 * mm}, .below = {}, .persist = seconds(1)};
    stage_of(job, "Raise").limits.push_back(limit);
  });
  site.pass(seconds(1));
  CHECK(enter(site, "Raise") == "no-mark");
}

TEST_CASE("a zero is approved by an engineer who has not proposed it, as first or as second person") {
  for (const bool first : {true, false}) {
    Site site = at_work();
    REQUIRE(propose(site, first ? engineer : supervisor, first ? supervisor : engineer) == "done");
    CHECK(approve(site, engineer) == "same-person");
    CHECK_FALSE(zero_of(site).offset);
    CHECK(approve(site, supervisor) == "not-permitted");
    CHECK(approve(site, other_engineer) == "done");
    CHECK(zero_of(site).offset);
  }
}

TEST_CASE("a zero that has been approved is not approved again") {
  Site site = at_work();
  REQUIRE(propose(site, technician, supervisor) == "done");
  REQUIRE(approve(site, engineer) == "done");
  CHECK(approve(site, engineer) == "not-proposed");
}

TEST_CASE("no gauge is zeroed at a doubtful reading, nor at none, neither proposed nor approved") {
  for (const bool proposed_before : {false, true})
    for (const bool dead : {false, true}) {
      Site site = at_work();
      if (proposed_before) REQUIRE(propose(site, technician, supervisor) == "done");
      if (dead) site.is_missing("G1");
      else site.shows("G1", 10.5 * mm);  // Outside its range, within the margin.
      site.pass(seconds(3));
      REQUIRE(reading_of(site, "G1").quality == (dead ? Quality::bad : Quality::uncertain));
      CHECK((proposed_before ? approve(site, engineer) : propose(site, technician, supervisor)) == "reading-not-good");
      CHECK_FALSE(zero_of(site).offset);
    }
}

TEST_CASE("a mark in the making is given up with its stage, and taken whole when the stage is entered again") {
  Site site = marked("Raise");
  REQUIRE(enter(site, "Raise") == "done");
  site.pass(seconds(3));
  REQUIRE(site.act({.what = Act::stage_abandon, .by = supervisor}) == "done");
  site.pass(seconds(10));
  CHECK(rows_of_mark(site, "snug stands") == 0);
  head_at(site, 0.1 * mm);  // Whoever abandons a stage may put something right before it goes on.
  site.pass(seconds(2));
  REQUIRE(enter(site, "Raise") == "done");
  site.pass(milliseconds(5500));
  CHECK(rows_of_mark(site, "snug stands") > 0);
  CHECK(memory_of(site, "since mark").last.high.value.si == Approx(0).margin(0.02 * mm));
}

}  // namespace standfast::test
