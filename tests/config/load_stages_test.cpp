#include "config/load_stages.hpp"

#include <catch2/catch.hpp>

#include <algorithm>

#include "config/bound_value.hpp"
#include "tests/config/loader_files.hpp"

using namespace standfast;

namespace {

const Rig& store() {
  static const Rig rig = test::rig_from(test::grain_store + "rig.yaml");
  return rig;
}
const Plan& transfer() {
  static const Plan plan = test::plan_from(test::grain_store + "stages.yaml", store());
  return plan;
}
const Rig& two_jacks() {
  static const Rig rig = test::rig_from(test::good + "two-jacks.rig.yaml");
  return rig;
}
const Plan& every_kind() {
  static const Plan plan = test::plan_from(test::good + "every-kind.stages.yaml", two_jacks());
  return plan;
}

const Stage& stage(const Plan& plan, StageKind kind) {
  return *std::find_if(plan.stages.begin(), plan.stages.end(), [&](const Stage& s) { return s.kind == kind; });
}

const Limit& limit(const Stage& stage, std::string_view name) {
  const auto found = std::find_if(stage.limits.begin(), stage.limits.end(), [&](const Limit& l) { return l.name == name; });
  if (found == stage.limits.end()) throw std::runtime_error{"no limit " + std::string{name}};
  return *found;
}

// The limits of one stage kind, one after the other: what the demonstration must share with the real plan.
std::vector<std::string> limits_of(const Plan& plan, const Rig& rig) {
  std::vector<std::string> texts;
  for (const Stage& s : plan.stages) {
    const Step* step = s.steps.empty() ? nullptr : &s.steps.back();
    for (const Limit& l : s.limits) {
      std::string text = s.name + "/" + l.name;
      for (const auto* level : {&l.review, &l.hold, &l.stop}) {
        if (!*level) continue;
        text += " " + std::to_string((*level)->persist.ns);
        for (const auto* bound : {&(*level)->above, &(*level)->below})
          text += " " + (*bound ? std::to_string(bound_value(**bound, l.of, rig, plan, step)) : "-");
      }
      texts.push_back(text);
    }
  }
  return texts;
}

}  // namespace

TEST_CASE("every kind of stage loads") {
  std::vector<StageKind> kinds;
  for (const Stage& s : every_kind().stages) kinds.push_back(s.kind);
  for (int i = 0; i < stage_kind_count; ++i) {
    INFO(stage_kind_word(static_cast<StageKind>(i)));
    CHECK(std::count(kinds.begin(), kinds.end(), static_cast<StageKind>(i)) == 1);
  }
}

TEST_CASE("a star gives one limit for each jack") {
  const Stage& raise = stage(transfer(), StageKind::raise);
  for (std::uint16_t i = 0; i < 4; ++i) {
    const Limit& load = limit(raise, "load J" + std::to_string(i + 1));
    CHECK(load.of.kind == QuantityKind::load);
    CHECK(load.of.subjects == std::vector<std::uint16_t>{i});
  }
}

TEST_CASE("a target is the planned share of the expected column load") {
  const Stage& raise = stage(transfer(), StageKind::raise);
  REQUIRE(raise.steps.size() == 8);
  const Step& first = raise.steps.front();
  CHECK(first.name == "25 %");
  REQUIRE(first.targets.size() == 4);
  CHECK(first.targets[0].load.si() == Approx(0.25 * 0.275 * 1480e3));
  CHECK(first.targets[1].full.si() == Approx(0.225 * 1480e3));
  CHECK(first.observe == minutes(10));
  CHECK(first.within.si() == Approx(0.02));
  CHECK(first.read_at.size() == 5);
}

// A load that falls while the pump may run is support that is lost (common practice, no source). What a tower is worth
// follows from the plan itself: a full target over its predicted travel.
TEST_CASE("in every stage that raises, each jack is held when its load falls as fast as a tower sinking 1 mm a minute makes it") {
  for (const StageKind kind : {StageKind::snug, StageKind::raise})
    for (int jack = 1; jack <= 4; ++jack) {
      const Limit& falls = limit(stage(transfer(), kind), "rate load J" + std::to_string(jack) + " over 10 s");
      REQUIRE((falls.hold && falls.hold->below && falls.review && falls.review->below));
      CHECK_FALSE(falls.hold->above);
      const double hold = bound_value(*falls.hold->below, falls.of, store(), transfer(), nullptr);
      const double per_metre = 0.275 * 1480e3 / 6.5e-3, millimetre_a_minute = 1e-3 / 60;
      CHECK(-hold == Approx(per_metre * millimetre_a_minute).epsilon(0.1));
      CHECK(bound_value(*falls.review->below, falls.of, store(), transfer(), nullptr) == Approx(hold / 4));
    }
}

TEST_CASE("while the load is raised, each jack is held when its ram goes further than the plan trusts its prediction") {
  double trusted = 0;
  for (const Step& step : stage(transfer(), StageKind::raise).steps)
    for (const Step::Predicted& predicted : step.predicted) trusted = std::max(trusted, predicted.within.si());
  for (int jack = 1; jack <= 4; ++jack) {
    const Limit& departs = limit(stage(transfer(), StageKind::raise), "departure J" + std::to_string(jack));
    REQUIRE((departs.hold && departs.hold->above && departs.hold->below));
    CHECK(bound_value(*departs.hold->above, departs.of, store(), transfer(), nullptr) > trusted);
    CHECK(bound_value(*departs.hold->above, departs.of, store(), transfer(), nullptr) <= 2 * trusted);
  }
}

TEST_CASE("a plan without a baseline is told so once, whatever counts from it") {
  std::string text = test::bytes_of(test::grain_store + "stages.yaml");
  text.replace(text.find("kind: baseline\n    window: 30 min"), std::string{"kind: baseline\n    window: 30 min"}.size(), "kind: watch");
  const auto loaded = load_stages(text, "stages.yaml", store());
  CHECK_FALSE(loaded.value);
  const auto said = [&](const std::string& code) {
    return std::count_if(loaded.findings.begin(), loaded.findings.end(), [&](const Finding& f) { return f.code == code; });
  };
  CHECK(said("E-baseline") == 1);
  CHECK(said("E-since-order") == 0);
}

TEST_CASE("a slip in a name of two words is answered with the whole name") {
  const std::string plan = test::bytes_of(test::grain_store + "stages.yaml");
  const auto nearest = [&](const std::string& written) {
    std::string text = plan;
    text.replace(text.find("travel left J*"), std::string{"travel left J*"}.size(), written);
    for (const Finding& finding : load_stages(text, "stages.yaml", store()).findings)
      if (finding.code == "E-quantity") return finding.nearest;
    return std::string{"no finding"};
  };
  for (const char* slip : {"travle left J*", "travel lft J*", "travelleft J*", "travel_left J*", "travel-left J*"}) {
    CAPTURE(slip);
    CHECK(nearest(slip) == "travel left");
  }
  CHECK(nearest("lod total") == "load total");
  CHECK(nearest("load totl") == "load total");
  CHECK(nearest("temperture change T1") == "temperature change");
  CHECK(nearest("mouvement HEAD") == "movement");
}

TEST_CASE("a jack may be given its own load") {
  const Step& own = stage(every_kind(), StageKind::raise).steps.at(1);
  CHECK(own.targets.at(1).load.si() == Approx(310e3));
  CHECK(own.percent.si() == Approx(610.0 / 700));
}

TEST_CASE("a bound is what it says: target plus 5 % of full target") {
  const Stage& raise = stage(transfer(), StageKind::raise);
  const Limit& load = limit(raise, "load J1");
  const double full = 0.275 * 1480e3;
  CHECK(bound_value(*load.hold->above, load.of, store(), transfer(), &raise.steps.front()) == Approx(0.30 * full));
  CHECK(bound_value(*load.stop->above, load.of, store(), transfer(), &raise.steps.front()) == Approx(665e3));
  const Limit& share = limit(raise, "share J2 from planned");
  CHECK(bound_value(*share.hold->above, share.of, store(), transfer(), nullptr) == Approx(0.15 * 0.225));
  CHECK(bound_value(*share.hold->below, share.of, store(), transfer(), nullptr) == Approx(-0.15 * 0.225));
  const Limit& total = limit(raise, "load total");
  CHECK(bound_value(*total.hold->above, total.of, store(), transfer(), nullptr) == Approx(1.05 * 1480e3));
}

TEST_CASE("persist is 1 s for REVIEW and HOLD and half a second for STOP, unless stated") {
  const Limit& head = limit(stage(transfer(), StageKind::raise), "movement HEAD since baseline");
  CHECK(head.review->persist == seconds(1));
  CHECK(head.hold->persist == seconds(1));
  CHECK(head.stop->persist == milliseconds(500));
  CHECK(limit(stage(every_kind(), StageKind::raise), "movement HEAD since baseline").hold->persist == seconds(2));
}

TEST_CASE("a gate, a guard and a line of its own are kept") {
  const Limit& head = limit(stage(every_kind(), StageKind::raise), "movement HEAD since baseline");
  CHECK(head.guard_uncertainty);
  CHECK(head.say == "Stop pumping. Keep pressure.");
  CHECK(head.reset_by == Role::engineer);
  CHECK(head.clear_after == seconds(5));
  CHECK(head.deadband == Approx(0.02e-3));
  const Limit& share = limit(stage(transfer(), StageKind::raise), "share J1 from planned");
  REQUIRE(share.when);
  CHECK(share.when->of.kind == QuantityKind::total_load);
}

TEST_CASE("a rate has its window and is per second") {
  const Limit& rate = limit(stage(transfer(), StageKind::raise), "rate movement HEAD over 10 s");
  CHECK(rate.of.rate);
  CHECK(rate.of.over == seconds(10));
  CHECK(rate.of.dimension == Dimension{Base::length, Per::second});
  CHECK(rate.hold->above->constant == Approx(2e-3 / 60));
}

TEST_CASE("a mark knows its stage, and a limit its mark") {
  REQUIRE(every_kind().marks.size() == 1);
  CHECK(every_kind().marks[0].taken_in == StageId{2u});
  const Limit& since = limit(stage(every_kind(), StageKind::raise), "movement HEAD since mark SNUG");
  CHECK(since.of.since == Since::mark);
  CHECK(since.of.mark == 0);
}

TEST_CASE("in a watching stage a slow poll may be stale after 60 s, or after what it says itself") {
  const Stage& night = stage(every_kind(), StageKind::watch);
  const auto t1 = std::find_if(night.polls.begin(), night.polls.end(), [](const Poll& p) { return p.every == seconds(29); });
  REQUIRE(t1 != night.polls.end());
  CHECK(t1->stale_after == seconds(60));
  CHECK(night.polls.size() == 3);
  CHECK(stage(every_kind(), StageKind::baseline).polls.at(0).stale_after == minutes(20));
}

TEST_CASE("what is read by hand may be asked for at a stage's own pace, is due after it, and stale after twice that") {
  const Rig rig = test::rig_from("tests/scenarios/by-hand/rig.yaml");
  const std::string text = test::bytes_of("tests/scenarios/by-hand/stages.yaml");
  const auto with = [&](const std::string& polls) {
    std::string changed = text;
    changed.replace(changed.find("    sign_off: supervisor\n"), 0, "    polls: {LEVEL: " + polls + "}\n");
    return load_stages(changed, "stages.yaml", rig);
  };
  const auto loaded = with("6 h");
  REQUIRE(loaded.value);
  CHECK(loaded.value->stages[0].polls.at(0).every == hours(6));
  CHECK(loaded.value->stages[0].polls.at(0).stale_after == hours(12));
  for (const char* refused : {"30 s", "40 d", "{every: 6 h, stale_after: 24 h}"}) CHECK_FALSE(with(refused).value);
}

TEST_CASE("criteria are read with their bounds within which a value must lie") {
  const Stage& raise = stage(transfer(), StageKind::raise);
  REQUIRE(raise.proceed_when.size() == 7);
  CHECK(raise.proceed_when[0].kind == Criterion::Kind::reading_sets);
  const Criterion& share = raise.proceed_when[1];
  CHECK(share.name == "share J1 from planned");
  CHECK(bound_value(*share.below, share.of, store(), transfer(), nullptr) == Approx(-0.1 * 0.275));
  CHECK(raise.proceed_when[6].entered == "cracks inspected");
  CHECK(stage(transfer(), StageKind::snug).proceed_when[5].kind == Criterion::Kind::proofs);
}

TEST_CASE("the plan for demonstration has the limits of the real one") {
  const Plan demo = test::plan_from(test::grain_store + "stages-demo.yaml", store());
  CHECK(limits_of(demo, store()) == limits_of(transfer(), store()));
}

TEST_CASE("defaults stand where the plan is silent") {
  const Plan plan = test::plan_from(test::good + "two-jacks.stages.yaml", two_jacks());
  CHECK(plan.proofs.watch == minutes(2));
  CHECK(plan.proofs.pressure_loss.si() == Approx(0.02));
  CHECK(plan.proofs.travel_loss.si() == Approx(0.05e-3));
  CHECK(plan.reading_set_window == seconds(10));
  const Stage& raise = stage(plan, StageKind::raise);
  CHECK(!raise.permit_by);
  CHECK(!raise.bad_reading_stops);
  CHECK(raise.sign_off == std::vector<Role>{Role::engineer});
}

TEST_CASE("a rate of temperature is read in kelvin a minute") {
  std::string text = test::bytes_of(test::good + "two-jacks.stages.yaml");
  text.replace(text.find("      - {of: load J*"), 0, "      - {of: rate temperature T1, over: 10 min, review: {beyond: 0.5 K/min}}\n");
  CHECK(load_stages(text, "stages.yaml", two_jacks()).value);
}

TEST_CASE("what stars and sets multiply to is bounded") {
  std::string text = test::bytes_of(test::good + "two-jacks.stages.yaml");
  std::string limits = "  many:\n";
  for (int i = 0; i < 190; ++i) {
    limits += "    - {name: L" + std::to_string(i) + ", of: load J*, review: {above: 600 kN}}\n";
  }
  text.replace(text.find("stages:\n"), 0, limits);
  text.replace(text.find("limit_sets: guard"), 17, "limit_sets: [guard, many]");
  CHECK(load_stages(text, "stages.yaml", two_jacks()).value);
  std::string stages;
  for (int i = 0; i < 60; ++i) {
    stages += "  - {stage: Watch " + std::to_string(i) + ", kind: watch, limit_sets: [guard, many]}\n";
  }
  const auto loaded = load_stages(text + stages, "stages.yaml", two_jacks());
  CHECK(!loaded.value);
  REQUIRE(!loaded.findings.empty());
  CHECK(loaded.findings.front().code == "E-list-length");
}
