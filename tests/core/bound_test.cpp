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

TEST_CASE("behind the first step of a stage stand the loads of the last closed one, unless nuts and packing came between") {
  const Rig rig = test::rig_from(plans[0].rig);
  Plan plan = test::plan_from(plans[0].plan, rig);
  std::vector<std::size_t> raises;
  for (std::size_t s = 0; s < plan.stages.size(); ++s)
    if (plan.stages[s].kind == StageKind::raise) raises.push_back(s);
  REQUIRE_FALSE(raises.empty());
  Stage again = plan.stages[raises[0]];
  again.name = "Raise on";
  const auto next = static_cast<std::ptrdiff_t>(raises[0] + 1);
  plan.stages.insert(plan.stages.begin() + next, again);
  std::vector<StageState> states(plan.stages.size(), StageState::planned);
  const auto stage = static_cast<std::size_t>(next);
  const auto had = [&] { return step_before(plan, stage, 0, states); };
  CHECK(had() == nullptr);
  states[stage - 1] = StageState::closed;
  REQUIRE(had() == &plan.stages[stage - 1].steps.back());
  CHECK(step_before(plan, stage, 1, states) == &plan.stages[stage].steps.front());

  const Step* due = &plan.stages[stage].steps.back();
  const LimitsInForce all = limits_in_force(rig, plan, &plan.stages[stage], due, had());
  CHECK(std::any_of(all.limits.begin(), all.limits.end(), [&](const LimitInForce& each) {
    return each.in_force == InForce::until_reached && each.limit.name == "load fallen J1 from " + had()->name;
  }));
  plan.stages[stage - 1].kind = StageKind::lock_off;
  CHECK(had() == nullptr);
}

}  // namespace

TEST_CASE("every level that a plan states is in force in its stage, with or without steps") {
  for (const Files& files : plans) {
    const Rig rig = test::rig_from(files.rig);
    const Plan plan = test::plan_from(files.plan, rig);
    for (const Stage& stage : plan.stages) {
      INFO(files.plan << ", stage " << stage.name);
      const Step* step = stage.steps.empty() ? nullptr : &stage.steps.front();
      const LimitsInForce all = limits_in_force(rig, plan, &stage, step, nullptr);
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
