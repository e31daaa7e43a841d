// Permit, stage, jacks, points.
#include <algorithm>

#include "config/time_text.hpp"
#include "daemon/core/authority.hpp"
#include "daemon/core/bound.hpp"
#include "daemon/core/criteria.hpp"
#include "daemon/core/permit.hpp"
#include "daemon/panel/shown_limits.hpp"
#include "daemon/panel/target_pressure.hpp"
#include "daemon/panel/view_parts.hpp"
#include "daemon/record/names.hpp"

namespace standfast {
namespace json = boost::json;

namespace {

// Where none was named it is for all of them, and each is named.
std::string circuits_named(const Drawing& drawing, const Permit& permit) {
  if (permit.kind == PermitKind::recover || !drawing.job()) return permit.circuits;
  std::string names = permit.kind == PermitKind::commission ? std::string() : permit.circuits;
  if (names.empty())
    for (const Circuit& circuit : drawing.job()->rig.circuits) names += (names.empty() ? "" : " ") + circuit.name;
  return names;
}

}  // namespace

json::object permit_view(const Drawing& drawing) {
  const Permit& permit = drawing.state.permit;
  json::object view{{"kind", permit_name(permit.kind)}, {"given", permit.given()}};
  if (!permit.given()) return view;
  view["circuits"] = circuits_named(drawing, permit);
  if (permit.kind == PermitKind::commission)
    view["up_to"] = amount_view(drawing, amount(Pressure::from_si(permit.pressure_limit)));
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

// A criterion of the plan as a person reads it: the value in the rig's units, and what it is to lie between.
std::string shown_facts(const Drawing& drawing, const Criterion& criterion) {
  const State& state = drawing.state;
  const Sign sign = goes_both_ways(criterion.of) ? Sign::both : Sign::minus;
  const Judged value = evaluate(criterion.of, context_of(state, Take::steadied));
  const auto at = [&](const std::optional<Bound>& bound) {
    return bound ? worked_out(*bound, criterion.of, state.job->rig, state.job->plan, step_in_force(state)) : std::nullopt;
  };
  const std::optional<Amount> least = at(criterion.below), most = at(criterion.above);
  int decimals = 0;
  if (least && criterion.below->terms.empty()) decimals = drawing.shown.decimals_to_say(*least);
  if (most && criterion.above->terms.empty()) decimals = std::max(decimals, drawing.shown.decimals_to_say(*most));
  std::string text = drawing.shown.text(value.high, sign, decimals);
  if (value.low.value.si != value.high.value.si) text += " to " + drawing.shown.text(value.low, sign, decimals);
  if (least) text += "; at least " + drawing.shown.text(*least, sign, decimals);
  if (most) text += "; at most " + drawing.shown.text(*most, sign, decimals);
  return text;
}

// The plan's own stand behind those of the stage's kind, in their order.
json::array criteria_view(const Drawing& drawing) {
  const std::vector<CriterionSeen> seen = criteria_of(drawing.state);
  const std::vector<Criterion>& own = stage_in_force(drawing.state)->proceed_when;
  json::array list;
  for (std::size_t i = 0; i < seen.size(); ++i) {
    const std::size_t first_own = seen.size() - own.size();
    const Criterion* stated = i < first_own ? nullptr : &own[i - first_own];
    const bool measured = stated && stated->kind == Criterion::Kind::quantity;
    list.push_back(json::object{{"name", seen[i].name}, {"met", seen[i].met},
                                {"facts", measured ? shown_facts(drawing, *stated) : seen[i].facts}});
  }
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
  if (is_live(state_of(state.run))) view["criteria"] = criteria_view(drawing);
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

// None where a jack has no target in this step.
std::optional<Force> total_target(const State& state) {
  Force sum{};
  for (std::size_t i = 0; i < state.job->rig.jacks.size(); ++i) {
    const JackTarget* target = target_of(state, JackId{i});
    if (!target) return std::nullopt;
    sum = sum + target->load;
  }
  return sum;
}

// In the unit of the dial gauge at the jack, by which the pump is worked.
void add_dial(const Drawing& drawing, const std::optional<Pressure>& target, const Reading* now, json::object& view) {
  if (!target) return;
  view["target_pressure"] = amount_view(drawing, amount(*target));
  if (now && now->has_number())
    view["to_go_pressure"] = amount_view(drawing, amount(*target - Pressure::from_si(now->value.si)));
}

// The load a jack's gauge would have to show, and what that still takes.
void add_target(const Drawing& drawing, std::size_t place, const JackTarget& target, const Reading& load, json::object& view) {
  const Jack& jack = drawing.job()->rig.jacks[place];
  const auto& channels = drawing.state.values.channels;
  view["target"] = amount_view(drawing, amount(target.load));
  if (!load.has_number()) return add_dial(drawing, target_pressure(jack, target.load, Direction::rising, Pressure{}), nullptr, view);
  view["to_go"] = amount_view(drawing, {load.value.dimension, target.load.si() - load.value.si});
  const Direction way = target.load.si() < load.value.si ? Direction::falling : Direction::rising;
  const Pressure against = jack.retract ? Pressure::from_si(channels[jack.retract->at()].reading.value.si) : Pressure{};
  add_dial(drawing, target_pressure(jack, target.load, way, against), &channels[jack.advance.at()].reading, view);
}

}  // namespace

namespace {

json::object quantity_view(const Drawing& drawing, const QuantityRef& of) {
  const Judged judged = evaluate(of, context_of(drawing.state, Take::as_read));
  const Reading& reading = judged.low.saturated != Saturation::none ? judged.low : judged.high;
  json::object view = reading_view(drawing, reading);
  if (reading.quality == Quality::bad && drawing.before)
    add_last(drawing, last_of(of, *drawing.before, drawing.last, drawing.state), Sign::minus, view);
  return view;
}

}  // namespace

json::array jacks_view(const Drawing& drawing) {
  json::array list;
  if (!drawing.job()) return list;
  const ValueContext context = context_of(drawing.state, Take::as_read);
  const std::vector<Jack>& jacks = drawing.job()->rig.jacks;
  for (std::size_t i = 0; i < jacks.size(); ++i) {
    const auto view_of = [&](QuantityKind kind, Base base) {
      const QuantityRef of{.kind = kind, .subjects = {static_cast<std::uint16_t>(i)}, .dimension = {base, Per::none}};
      return quantity_view(drawing, of);
    };
    const Reading load = load_of(JackId{i}, context).high;
    json::object view{{"name", jacks[i].name},
                      {"load", view_of(QuantityKind::load, Base::force)},
                      {"pressure", view_of(QuantityKind::pressure, Base::pressure)},
                      {"share", view_of(QuantityKind::share, Base::ratio)}};
    if (jacks[i].stroke_channel) view["travel_left"] = view_of(QuantityKind::travel_left, Base::length);
    if (const JackTarget* target = target_of(drawing.state, JackId{i})) add_target(drawing, i, *target, load, view);
    list.push_back(std::move(view));
  }
  const LoadSum sum = total_load(context);
  json::object total{{"name", "total"},
                     {"load", reading_view(drawing, sum.sum.high)},
                     {"answering", sum.answering},
                     {"parts", sum.parts}};
  if (const auto target = total_target(drawing.state)) {
    total["target"] = amount_view(drawing, amount(*target));
    const Reading& now = sum.sum.high;
    if (now.has_number()) total["to_go"] = amount_view(drawing, {now.value.dimension, target->si() - now.value.si});
  }
  list.push_back(std::move(total));
  return list;
}

namespace {

std::optional<Reading> last_of_point(const Drawing& drawing, std::size_t point, const PointMovement& movement) {
  if (movement.answering > 0 || !drawing.before) return std::nullopt;
  const QuantityRef of{.kind = QuantityKind::movement, .subjects = {static_cast<std::uint16_t>(point)}, .since = Since::baseline,
                       .dimension = {Base::length, Per::none}};
  return last_of(of, *drawing.before, drawing.last, drawing.state);
}

}  // namespace

json::array points_view(const Drawing& drawing) {
  json::array list;
  if (!drawing.job()) return list;
  const ValueContext context = context_of(drawing.state, Take::as_read);
  const std::vector<Point>& points = drawing.job()->rig.points;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const PointMovement movement = movement_of(PointId{i}, Since::baseline, 0, context);
    json::object highest = reading_view(drawing, movement.worst.high, Sign::both);
    add_last(drawing, last_of_point(drawing, i, movement), Sign::both, highest);
    list.push_back(json::object{{"name", points[i].name},
                                {"highest", std::move(highest)},
                                {"lowest", reading_view(drawing, movement.worst.low, Sign::both)},
                                {"mean", reading_view(drawing, movement.mean, Sign::both)},
                                {"gauges", movement.gauges},
                                {"answering", movement.answering}});
  }
  return list;
}

}  // namespace standfast
