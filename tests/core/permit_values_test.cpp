// What a permit asks of the values it rests on: windows that fill, doubts that were accepted, inputs that do not answer.
#include <catch2/catch.hpp>

#include "tests/core/changes.hpp"
#include "tests/support/site.hpp"

namespace standfast::test {
namespace {

// The second step of raising runs, nothing is given.
Site before_raising() { return Site("002-to-full-step"); }

std::string give(Site& site, const std::string& kind) { return site.act({.what = Act::permit_give, .object = kind, .by = supervisor}); }

// The same job with one more limit in the stage of raising.
std::shared_ptr<const Job> with_one_more(const Job& job, QuantityRef of, std::optional<Gate> when = {}) {
  auto changed = std::make_shared<Job>(job);
  Limit limit{.name = "one more", .of = std::move(of)};
  limit.hold = LevelBound{.above = Bound{.constant = 1}, .persist = seconds(1)};
  limit.when = std::move(when);
  changed->plan.stages[3].limits.push_back(limit);
  return changed;
}

// In the stage of raising, everything read for a second.
Site with_limit(QuantityRef of) {
  Site site = before_raising();
  site.tell(JobInForce{with_one_more(site.job(), std::move(of))});
  site.pass(seconds(1));
  return site;
}

std::string told(const Site& site, const std::string& code) {
  for (const EffectRow& row : site.rows)
    if (const auto* notice = std::get_if<Notice>(&row); notice && notice->code == code) return notice->text;
  return {};
}

std::string newest_answer(const Site& site) {
  for (std::size_t i = site.rows.size(); i-- > 0;)
    if (const auto* answer = std::get_if<ActionAnswer>(&site.rows[i])) return answer->text;
  return {};
}

}  // namespace

TEST_CASE("what fills only with the work refuses no permit; that it watches nothing yet is said and recorded") {
  const QuantityRef creep{.kind = QuantityKind::creep, .subjects = {0}, .dimension = {Base::length, Per::decade}};
  const QuantityRef stiffness{.kind = QuantityKind::stiffness_ratio, .subjects = {0}, .dimension = {Base::ratio, Per::none}};
  for (const QuantityRef& of : {creep, stiffness}) {
    Site site = with_limit(of);
    CHECK(give(site, "raise") == "done");
    CHECK(told(site, "filling") == "filling, so not watched yet: one more");
    CHECK(newest_answer(site) == "permit given; filling, so not watched yet: one more");
  }
}

TEST_CASE("a limit whose gate is shut asks for no value from the very instant its stage is entered") {
  const QuantityRef slope{.kind = QuantityKind::movement, .subjects = {0}, .rate = true, .over = seconds(20),
                          .dimension = {Base::length, Per::second}};
  const QuantityRef total{.kind = QuantityKind::total_load, .dimension = {Base::force, Per::none}};
  for (const double above : {1e9, 0.0}) {
    Site site("001-ready-to-raise");
    site.tell(JobInForce{with_one_more(site.job(), slope, Gate{.of = total, .above = Bound{.constant = above}, .below = {}})});
    site.pass(seconds(1));
    REQUIRE(site.act({.what = Act::stage_enter, .object = "Raise", .by = supervisor}) == "done");
    CHECK(give(site, "raise") == (above > 0 ? "done" : "limit-without-value"));
  }
}

TEST_CASE("a slope over a window of time is waited for: no permit while it fills") {
  Site site = with_limit({.kind = QuantityKind::movement, .subjects = {0}, .rate = true, .over = seconds(20),
                          .dimension = {Base::length, Per::second}});
  CHECK(give(site, "raise") == "limit-without-value");
  site.pass(seconds(11));
  CHECK(give(site, "raise") == "done");
  CHECK(told(site, "filling").empty());
}

TEST_CASE("a permit ends when a rate that it was given on can be judged no more, though no channel has gone stale") {
  Site site = before_raising();
  auto changed = std::make_shared<Job>(site.job());
  for (Channel& channel : changed->rig.channels) channel.stale_after = seconds(8);
  for (Stage& stage : changed->plan.stages) stage.polls.clear();
  Limit limit{.name = "one more", .of = {.kind = QuantityKind::movement, .subjects = {0}, .rate = true, .over = seconds(4),
                                         .dimension = {Base::length, Per::second}}};
  limit.hold = LevelBound{.above = Bound{.constant = 1}, .persist = seconds(1)};
  changed->plan.stages[3].limits.push_back(limit);
  site.tell(JobInForce{changed});
  site.pass(seconds(5));
  REQUIRE(give(site, "raise") == "done");
  for (const ChannelId gauge : site.job().rig.points[0].gauges)
    for (std::size_t b = 0; b < site.job().polls.blocks.size(); ++b)
      for (const Block::ChannelPlace& place : site.job().polls.blocks[b].channels)
        if (place.channel == gauge) site.block_is_missing(b);
  site.pass(milliseconds(1500));
  CHECK(site.state().permit.given());
  site.pass(seconds(3));
  CHECK(site.signal() == Level::none);
  CHECK_FALSE(site.state().permit.given());
}

TEST_CASE("a doubt that was accepted by name is accepted, and no other doubt about the same channel") {
  Site site = before_raising();
  auto changed = std::make_shared<Job>(site.job());
  auto& limits = changed->plan.stages[3].limits;
  std::erase_if(limits, [](const Limit& limit) { return limit.of.kind == QuantityKind::share; });
  for (Channel& channel : changed->rig.channels)
    if (channel.name == "P1") channel.certificate.due = "2020-01-01";
  site.tell(JobInForce{changed});
  site.pass(seconds(1));
  REQUIRE(give(site, "raise") == "reading-uncertain");
  REQUIRE(site.act({.what = Act::accept_uncertain, .object = "P1", .by = engineer}) == "done");
  REQUIRE(give(site, "raise") == "done");
  REQUIRE(site.act({.what = Act::permit_end}) == "done");
  site.shows("P1", -13 * bar);  // 3.7 mA.
  site.pass(seconds(1));
  REQUIRE(site.signal() < Level::hold);
  CHECK(give(site, "raise") == "reading-uncertain");
}

TEST_CASE("where the pump's input does not answer, oil may be flowing") {
  Site site = before_raising();
  site.pass(seconds(1));
  REQUIRE_FALSE(progress_of(site.state()).oil_flows);
  for (std::size_t b = 0; b < site.job().polls.blocks.size(); ++b)
    if (!site.job().polls.blocks[b].inputs.empty()) site.block_is_missing(b);
  site.pass(seconds(3));
  CHECK(progress_of(site.state()).oil_flows);
}

TEST_CASE("a pump's input that does not answer is told, unless the module's own alarm says it all") {
  Site site = before_raising();
  change_job(site, [](Job& job) {
    for (Input& input : job.rig.inputs)
      if (input.meaning == InputMeaning::pump_running) input.address.unit_id = 77;  // In a box of its own.
  });
  site.pass(seconds(1));
  CHECK_FALSE(site.has("input pump_running", Level::review));
  for (std::size_t b = 0; b < site.job().polls.blocks.size(); ++b)
    if (!site.job().polls.blocks[b].inputs.empty()) site.block_is_missing(b);
  site.pass(seconds(5));
  CHECK(site.has("input pump_running", Level::review));
  CHECK(site.has("input site_stop", Level::hold));
  Site pulled = before_raising();
  pulled.pass(seconds(1));
  pulled.module_meets(rehearse::ModuleFault::cable_pulled);
  for (std::size_t b = 0; b < pulled.job().polls.blocks.size(); ++b)
    if (!pulled.job().polls.blocks[b].inputs.empty()) pulled.block_is_missing(b);
  pulled.pass(seconds(5));
  CHECK_FALSE(pulled.has("input pump_running", Level::review));
  CHECK(pulled.has("input site_stop", Level::hold));
}

TEST_CASE("a load in a doubt that nobody has accepted reaches no step") {
  Site site = before_raising();
  auto changed = std::make_shared<Job>(site.job());
  for (Channel& channel : changed->rig.channels)
    if (channel.name == "P1") channel.certificate.due = "2020-01-01";
  site.tell(JobInForce{changed});
  load_to(site, 0.5);
  site.pass(seconds(3));
  CHECK(state_of(site.state().run) == StageState::running);
  REQUIRE(site.act({.what = Act::accept_uncertain, .object = "P1", .by = engineer}) == "done");
  site.pass(seconds(1));
  CHECK(state_of(site.state().run) == StageState::observation);
}

}  // namespace standfast::test
