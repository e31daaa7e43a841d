// What movement is counted from: a mark that has been taken stands, and without one nothing is counted.
#include <catch2/catch.hpp>

#include "tests/core/changes.hpp"

namespace standfast::test {
namespace {

double baseline_of(const Site& site, const std::string& name) {
  const auto& value = site.state().values.references.baseline.channels.at(place_by_name(site.job().rig.channels, name));
  REQUIRE(value);
  return value->value;
}

// Behind a rehearsal, with a limit in the stage of raising that counts from its start; nothing runs.
Site counted_from_start(const std::string& rehearsal) {
  Site site(rehearsal);
  auto changed = std::make_shared<Job>(site.job());
  Limit limit{.name = "since start", .of = {.kind = QuantityKind::movement, .subjects = {0}, .since = Since::stage_start,
                                            .dimension = {Base::length, Per::none}}};
  limit.hold = LevelBound{.above = Bound{.constant = 0.5 * mm}, .persist = seconds(1)};
  REQUIRE(changed->rig.points[0].name == "HEAD");
  changed->plan.stages[3].limits.push_back(limit);
  site.tell(JobInForce{changed});
  site.pass(seconds(1));
  return site;
}

std::string enter(Site& site, const std::string& stage) {
  return site.act({.what = Act::stage_enter, .object = stage, .by = supervisor});
}

void move_head(Site& site, double to) {
  for (const char* gauge : {"G1", "G2"}) site.shows(gauge, to);
  site.pass(seconds(2));
}

}  // namespace

TEST_CASE("a stage is not entered whose start would be counted from a doubtful reading, or from none") {
  Site site = counted_from_start("001-ready-to-raise");  // It has not been entered yet.
  site.shows("G1", 10.5 * mm);  // Outside its range, within the margin: a number in doubt.
  site.pass(seconds(1));
  REQUIRE(site.state().values.channels[place_by_name(site.job().rig.channels, "G1")].reading.quality == Quality::uncertain);
  CHECK(enter(site, "Raise") == "no-mark");
  site.is_dead("G1");
  site.pass(seconds(1));
  CHECK(enter(site, "Raise") == "no-mark");
  head_at(site, 0.01 * mm);  // Both: a twin that stood still would be thought frozen.
  site.pass(seconds(1));
  CHECK(enter(site, "Raise") == "done");
}

TEST_CASE("a stage entered again keeps its first start, another stage entered between or not") {
  Site site = counted_from_start("002-to-full-step");
  REQUIRE(site.act({.what = Act::stage_abandon, .by = supervisor}) == "done");
  move_head(site, 0);
  REQUIRE(enter(site, "Raise") == "done");
  move_head(site, 0.4 * mm);
  REQUIRE(site.act({.what = Act::stage_abandon, .by = supervisor}) == "done");
  REQUIRE(enter(site, "Baseline") == "done");
  site.pass(seconds(6));
  REQUIRE(site.act({.what = Act::stage_propose, .by = technician}) == "done");
  REQUIRE(site.act({.what = Act::stage_approve, .by = engineer}) == "done");
  REQUIRE(enter(site, "Raise") == "done");
  site.pass(seconds(1));
  CHECK(memory_of(site, "since start").last.high.value.si == Approx(0.4 * mm));
  move_head(site, 0.6 * mm);
  CHECK(site.has("since start", Level::hold));
}

TEST_CASE("a twin without the mark that its limit counts from is a HOLD, though the other gauge guards") {
  Site site("002-to-full-step");
  site.pass(seconds(1));
  REQUIRE(site.signal() == Level::none);
  auto other = std::make_shared<Job>(site.job());
  other->rig.channels[place_by_name(site.job().rig.channels, "G2")].scale.value_high *= 1.000001;
  other->rig_sha256 = std::string(64, '4');
  site.tell(JobInForce{other});
  site.pass(seconds(1));
  CHECK(site.has("mark of head", Level::hold));
}

TEST_CASE("a baseline waits for everything that the plan counts from it") {
  auto changed = std::make_shared<Job>(*Site("001-ready-to-raise").shared_job());
  Limit limit{.name = "warmer", .of = {.kind = QuantityKind::temperature_change, .subjects = {}, .since = Since::baseline,
                                       .dimension = {Base::temperature_difference, Per::none}}};
  const auto& channels = changed->rig.channels;
  for (std::size_t c = 0; c < channels.size(); ++c)
    if (channels[c].name == "T1") limit.of.subjects = {static_cast<std::uint16_t>(c)};
  limit.review = LevelBound{.above = Bound{.constant = 10}, .persist = seconds(1)};
  changed->plan.stages[3].limits.push_back(limit);
  Site site(changed);
  for (const auto& each : channels) site.shows(each.name, each.dimension.base == Base::temperature ? 291 : 0);
  site.is_dead("T1");
  site.pass(seconds(1));
  REQUIRE(site.act({.what = Act::stage_skip, .object = "Commission", .by = engineer, .with = supervisor}) == "done");
  REQUIRE(enter(site, "Baseline") == "done");
  site.pass(minutes(1));
  CHECK_FALSE(site.state().values.references.baseline.channels.size() > 0);
  site.shows("T1", 291);
  site.pass(seconds(6));
  CHECK(site.state().values.references.baseline.channels.size() > 0);
}

TEST_CASE("a swapped gauge gets a baseline of its own, and no other gauge loses its movement") {
  Site site("002-to-full-step");
  const double before = baseline_of(site, "G1");
  for (const char* gauge : {"G1", "G2"}) site.shows(gauge, before + 0.7 * mm);
  site.pass(seconds(1));
  auto other = std::make_shared<Job>(site.job());
  other->rig.channels[place_by_name(site.job().rig.channels, "B1")].scale.value_high *= 2;
  other->rig_sha256 = std::string(64, '4');
  site.tell(JobInForce{other});
  REQUIRE_FALSE(site.state().values.references.baseline.channels[place_by_name(site.job().rig.channels, "B1")]);
  REQUIRE(site.act({.what = Act::stage_abandon, .by = supervisor}) == "done");
  REQUIRE(site.act({.what = Act::stage_enter, .object = "Baseline", .by = supervisor}) == "done");
  site.pass(seconds(6));
  CHECK(baseline_of(site, "G1") == before);
  CHECK(site.state().values.references.baseline.channels[place_by_name(site.job().rig.channels, "B1")]);
}

TEST_CASE("a baseline that is lost behind its closed stage is a HOLD") {
  Site site("002-to-full-step");
  site.pass(seconds(1));
  REQUIRE(site.act({.what = Act::stage_abandon, .by = supervisor}) == "done");
  change_job(site, [](Job& job) {
    stage_of(job, "Baseline").limits = stage_of(job, "Raise").limits;
    std::erase_if(stage_of(job, "Baseline").limits, [](const Limit& limit) { return limit.name != "head"; });
    job.plan_sha256 = std::string(64, '5');
  });
  site.pass(seconds(1));
  REQUIRE(site.act({.what = Act::stage_enter, .object = "Baseline", .by = supervisor}) == "done");
  site.pass(seconds(8));
  REQUIRE(site.act({.what = Act::stage_propose, .by = technician}) == "done");
  REQUIRE(site.act({.what = Act::stage_approve, .by = engineer}) == "done");
  REQUIRE(memory_of(site, "head").last.high.quality == Quality::good);
  change_job(site, [](Job& job) {  // Other gauges: what was counted from them is gone.
    for (const char* gauge : {"G1", "G2"}) channel_of(job, gauge).scale.value_high *= 1.000001;
    job.rig_sha256 = std::string(64, '4');
  });
  site.pass(seconds(3));
  CHECK(site.has("mark of head", Level::hold));
}

}  // namespace standfast::test
