// Permit, stage, jacks, points.
#include <algorithm>

#include "config/time_text.hpp"
#include "daemon/core/authority.hpp"
#include "daemon/core/criteria.hpp"
#include "daemon/core/permit.hpp"
#include "daemon/panel/view_parts.hpp"
#include "daemon/record/names.hpp"

namespace standfast {
namespace json = boost::json;

json::object permit_view(const Drawing& drawing) {
  const Permit& permit = drawing.state.permit;
  json::object view{{"kind", permit_name(permit.kind)}, {"given", permit.given()}};
  if (!permit.given()) return view;
  view["circuits"] = permit.circuits;
  view["by"] = permit.by;
  view["second"] = permit.second;
  view["for_ms"] = drawing.age_ms(permit.given_at);
  if (const auto end = ends_at(permit)) view["ends_in_ms"] = std::max<std::int64_t>(0, (*end - drawing.facts.now).ns / 1'000'000);
  return view;
}

namespace {

json::object step_view(const Drawing& drawing, const Stage& stage, const Step& step) {
  const StageRun& run = drawing.state.run;
  json::object view{{"name", step.name},
                    {"number", run.step + 1},
                    {"of", stage.steps.size()},
                    {"percent", drawing.shown.text(amount(step.percent))},
                    {"observe_ms", step.observe.ns / 1'000'000},
                    {"observed_ms", run.observed.ns / 1'000'000},
                    {"in_band", run.in_band},
                    {"reached", run.reached_at.has_value()},
                    {"reading_sets", run.reading_sets},
                    {"reading_sets_planned", step.read_at.size()}};
  return view;
}

json::array criteria_view(const State& state) {
  json::array list;
  for (const CriterionSeen& criterion : criteria_of(state))
    list.push_back(json::object{{"name", criterion.name}, {"met", criterion.met}, {"facts", criterion.facts}});
  return list;
}


}  // namespace

json::object stage_view(const Drawing& drawing) {
  const State& state = drawing.state;
  const Stage* stage = stage_in_force(state);
  if (!stage) return {{"any", false}};
  json::array approvals;
  for (const Approval& approval : state.run.approvals)
    approvals.push_back(json::object{{"name", approval.name}, {"role", role_name(approval.role)}});
  json::array sign_off;
  for (const Role role : stage->sign_off) sign_off.emplace_back(role_name(role));
  json::object view{{"any", true},
                    {"name", stage->name},
                    {"number", state.run.stage + 1},
                    {"of", state.job->plan.stages.size()},
                    {"state", record::name_of(state_of(state.run))},
                    {"live", is_live(state_of(state.run))},
                    {"entered_for_ms", drawing.age_ms(state.run.entered_at)},
                    {"approvals", std::move(approvals)},
                    {"sign_off", std::move(sign_off)}};
  if (const Step* step = step_in_force(state)) view["step"] = step_view(drawing, *stage, *step);
  if (is_live(state_of(state.run))) view["criteria"] = criteria_view(state);
  return view;
}

json::array stages_view(const Drawing& drawing) {
  json::array list;
  if (!drawing.job()) return list;
  const std::vector<Stage>& stages = drawing.job()->plan.stages;
  for (std::size_t i = 0; i < stages.size(); ++i) {
    const StageState at = i < drawing.state.run.states.size() ? drawing.state.run.states[i] : StageState::planned;
    list.push_back(json::object{{"number", i + 1},
                                {"name", stages[i].name},
                                {"state", record::name_of(at)},
                                {"in_this_version", is_in_this_version(stages[i].kind)}});
  }
  return list;
}

namespace {

const JackTarget* target_of(const State& state, JackId jack) {
  const Step* step = step_in_force(state);
  if (!step) return nullptr;
  const auto found = std::find_if(step->targets.begin(), step->targets.end(),
                                  [&](const JackTarget& target) { return target.jack == jack; });
  return found == step->targets.end() ? nullptr : &*found;
}

// No curve: the pressure that makes the load; with one the dial is not simply proportional, so none is named.
void add_target(const Drawing& drawing, const Jack& jack, const JackTarget& target, const Reading& load, json::object& view) {
  view["target"] = amount_view(drawing, amount(target.load));
  if (load.has_number()) view["to_go"] = amount_view(drawing, {load.value.dimension, target.load.si() - load.value.si});
  if (jack.rising.empty() && jack.area.si() > 0 && !jack.retract)
    view["target_pressure"] = amount_view(drawing, amount(Pressure::from_si(target.load.si() / jack.area.si())));
}

}  // namespace

json::array jacks_view(const Drawing& drawing) {
  json::array list;
  if (!drawing.job()) return list;
  const ValueContext context = context_of(drawing.state, Take::as_read);
  const std::vector<Jack>& jacks = drawing.job()->rig.jacks;
  for (std::size_t i = 0; i < jacks.size(); ++i) {
    const auto of = [&](QuantityKind kind, Base base) {
      QuantityRef quantity;
      quantity.kind = kind;
      quantity.subjects = {static_cast<std::uint16_t>(i)};
      quantity.dimension = {base, Per::none};
      return evaluate(quantity, context).high;
    };
    const Reading load = of(QuantityKind::load, Base::force);
    json::object view{{"name", jacks[i].name},
                      {"load", reading_view(drawing, load)},
                      {"pressure", reading_view(drawing, of(QuantityKind::pressure, Base::pressure))},
                      {"share", reading_view(drawing, of(QuantityKind::share, Base::ratio))}};
    if (jacks[i].stroke_channel)
      view["travel_left"] = reading_view(drawing, of(QuantityKind::travel_left, Base::length));
    if (const JackTarget* target = target_of(drawing.state, JackId{i})) add_target(drawing, jacks[i], *target, load, view);
    list.push_back(std::move(view));
  }
  const LoadSum sum = total_load(context);
  list.push_back(json::object{{"name", "total"},
                              {"load", reading_view(drawing, sum.sum.high)},
                              {"answering", sum.answering},
                              {"parts", sum.parts}});
  return list;
}

json::array points_view(const Drawing& drawing) {
  json::array list;
  if (!drawing.job()) return list;
  const ValueContext context = context_of(drawing.state, Take::as_read);
  const std::vector<Point>& points = drawing.job()->rig.points;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const PointMovement movement = movement_of(PointId{i}, Since::baseline, 0, context);
    list.push_back(json::object{{"name", points[i].name},
                                {"highest", reading_view(drawing, movement.worst.high)},
                                {"lowest", reading_view(drawing, movement.worst.low)},
                                {"mean", reading_view(drawing, movement.mean)},
                                {"gauges", movement.gauges},
                                {"answering", movement.answering}});
  }
  return list;
}

}  // namespace standfast
