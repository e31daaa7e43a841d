// A bound that the plan states is in force in every stage that has it; none is lost for want of a step.
#include <catch2/catch.hpp>

#include "daemon/core/bound.hpp"
#include "daemon/core/limits_in_force.hpp"
#include "tests/config/loader_files.hpp"

using namespace standfast;

namespace {

struct Files { const char* rig; const char* plan; };
constexpr Files plans[] = {{"config/examples/grain-store/rig.yaml", "config/examples/grain-store/stages.yaml"},
                           {"config/examples/grain-store/rig.yaml", "config/examples/grain-store/stages-demo.yaml"},
                           {"tests/config/corpus/good/two-jacks.rig.yaml", "tests/config/corpus/good/every-kind.stages.yaml"}};

void check_all_in_force(const Limit& limit, const LimitInForce& in_force) {
  const std::optional<LevelBound> stated[] = {limit.review, limit.hold, limit.stop};
  for (std::size_t k = 0; k < limit_levels.size(); ++k) {
    INFO(limit.name << ", level " << k);
    REQUIRE(stated[k].has_value() == in_force.levels[k].has_value());
    if (!stated[k]) continue;
    CHECK(stated[k]->above.has_value() == in_force.levels[k]->above.has_value());
    CHECK(stated[k]->below.has_value() == in_force.levels[k]->below.has_value());
  }
}

}  // namespace

TEST_CASE("every level that a plan states is in force in its stage, with or without steps") {
  for (const Files& files : plans) {
    const Rig rig = test::rig_from(files.rig);
    const Plan plan = test::plan_from(files.plan, rig);
    for (const Stage& stage : plan.stages) {
      INFO(files.plan << ", stage " << stage.name);
      const Step* step = stage.steps.empty() ? nullptr : &stage.steps.front();
      const LimitsInForce all = limits_in_force(rig, plan, &stage, step);
      for (const LimitInForce& each : all.limits) check_all_in_force(each.limit, each);
    }
  }
}

TEST_CASE("a full target is a jack's share of the expected column load, whatever the stage") {
  const Rig rig = test::rig_from(plans[0].rig);
  const Plan plan = test::plan_from(plans[0].plan, rig);
  const QuantityRef load{.kind = QuantityKind::load, .subjects = {0}, .dimension = {Base::force, Per::none}};
  const Bound tenth{.terms = {{0.1, Reference::full_target}}};
  REQUIRE(worked_out(tenth, load, rig, plan, nullptr));
  CHECK(worked_out(tenth, load, rig, plan, nullptr)->si == Approx(0.1 * 0.275 * 1480e3));
  CHECK_FALSE(worked_out({.terms = {{1, Reference::target}}}, load, rig, plan, nullptr));
}
