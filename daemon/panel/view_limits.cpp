// The limits in force, with how much of each is used.
#include <algorithm>
#include <optional>

#include "config/time_text.hpp"
#include "daemon/panel/shown_limits.hpp"
#include "daemon/panel/view_parts.hpp"
#include "daemon/record/names.hpp"

namespace standfast {
namespace json = boost::json;
namespace {

// Share of the way from nought to the bound, 1 at the bound. None where the bound is nought or on the other side.
std::optional<double> used(const std::optional<Amount>& bound, const Reading& value, double sign) {
  if (!bound || !value.has_number() || sign * bound->si <= 0) return std::nullopt;
  return std::max(0.0, value.value.si / bound->si);
}

std::optional<double> larger(std::optional<double> a, std::optional<double> b) {
  if (!a || !b) return a ? a : b;
  return std::max(*a, *b);
}

std::optional<double> used(const LevelInForce& level, const Judged& value) {
  return larger(used(level.above, value.high, 1), used(level.below, value.low, -1));
}

// All bounds of a limit and its value are shown alike, as finely as the finest bound asks for.
int decimals_of(const Shown& shown, const LimitInForce& limit) {
  int most = 0;
  for (const auto& level : limit.levels)
    if (level)
      for (const auto& bound : {level->above, level->below})
        if (bound) most = std::max(most, shown.decimals_of_bound(*bound));
  return most;
}

json::object level_view(const Drawing& drawing, const LevelInForce& level, const Watch& watch, const Judged& last, Sign sign,
                        int decimals) {
  json::object view{{"persist_ms", level.persist.ns / 1'000'000},
                    {"filled_ms", watch.quarters / 4 / 1'000'000},
                    {"active", watch.active},
                    {"cannot_exclude", cannot_exclude(level, last)}};
  if (level.above) view["above"] = amount_view(drawing, *level.above, sign, decimals);
  if (level.below) view["below"] = amount_view(drawing, *level.below, sign, decimals);
  if (const auto share = used(level, last)) view["used_pct"] = *share * 100;
  return view;
}

// Of both sides the one that is off its scale, else the one nearer to a bound; equal sides are one reading.
const Reading& telling_side(const LimitInForce& limit, const Judged& last) {
  if (last.low.saturated != last.high.saturated) return last.low.saturated != Saturation::none ? last.low : last.high;
  std::optional<double> above, below;
  for (const auto& level : limit.levels) {
    if (!level) continue;
    above = larger(above, used(level->above, last.high, 1));
    below = larger(below, used(level->below, last.low, -1));
  }
  return below && (!above || *below > *above) ? last.low : last.high;
}

// The oldest of what a person read behind this limit, so that it is shown hollow, with its age.
void add_by_hand(const Drawing& drawing, const std::vector<ChannelId>& channels, json::object& value) {
  for (const ChannelId id : channels) {
    const Reading& reading = drawing.state.values.channels[id.at()].reading;
    if (drawing.job()->rig.channels[id.at()].bus || reading.quality == Quality::bad) continue;
    const std::int64_t age = drawing.age_ms(reading.newest);
    const json::value* older = value.if_contains("by_hand_age_ms");
    if (!older || older->as_int64() < age) value["by_hand_age_ms"] = age;
  }
}

}  // namespace

json::array limits_view(const Drawing& drawing) {
  json::array list;
  const State& state = drawing.state;
  if (!state.job) return list;
  for (std::size_t i = 0; i < state.limits.size() && i < state.in_force.limits.size(); ++i) {
    const LimitInForce& limit = state.in_force.limits[i];
    const LimitMemory& memory = state.limits[i];
    const QuantityRef& of = limit.limit.of;
    const Sign sign = goes_both_ways(of) ? Sign::both : Sign::minus;
    const int decimals = decimals_of(drawing.shown, limit);
    json::object view{{"name", limit.limit.name},
                      {"quantity", of.rate ? "rate" : std::string(entry_of(of.kind).name)},
                      {"guard", limit.guard},
                      {"in_force", !memory.gated_off},
                      {"value", reading_view(drawing, telling_side(limit, memory.last), sign, decimals)}};
    if (drawing.before && memory.last.high.quality == Quality::bad)
      add_last(drawing, last_of(of, *drawing.before, drawing.last, state), sign, view["value"].as_object());
    add_by_hand(drawing, limit.channels, view["value"].as_object());
    if (of.kind == QuantityKind::movement && !of.rate) view["point"] = state.job->rig.points[of.subjects[0]].name;
    std::optional<double> most;
    bool doubt = false;
    for (std::size_t k = 0; k < limit_levels.size(); ++k) {
      if (!limit.levels[k]) continue;
      view[record::name_of(limit_levels[k])] = level_view(drawing, *limit.levels[k], memory.watches[k], memory.last, sign, decimals);
      doubt = doubt || cannot_exclude(*limit.levels[k], memory.last);
      if (limit_levels[k] >= Level::hold) most = larger(most, used(*limit.levels[k], memory.last));
    }
    if (most) view["used_pct"] = *most * 100;
    view["cannot_exclude"] = doubt;
    list.push_back(std::move(view));
  }
  return list;
}

}  // namespace standfast
