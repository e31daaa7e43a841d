#include "tools/rig/source.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

namespace standfast::rig {
namespace {

double distance(const Position& a, const LegPlace& b) { return std::hypot(a.x - b.x, a.y - b.y); }

// The leg at that place, or those at one distance from it: a point between two towers is both.
std::vector<std::size_t> legs_near(const Position& at, const SiteStatement& site) {
  double least = distance(at, site.places[0]);
  for (const LegPlace& place : site.places) least = std::min(least, distance(at, place));
  std::vector<std::size_t> near;
  for (std::size_t i = 0; i < leg_count; ++i) {
    if (distance(at, site.places[i]) < least + 1e-3) near.push_back(i);
  }
  return near;
}

std::optional<Quantity> quantity_of(const Point& point) {
  if (point.name.starts_with("HEAD")) return Quantity::head;
  if (point.name.starts_with("COLUMN")) return Quantity::column_base;
  if (point.name.starts_with("BASE") || point.name.starts_with("TOWER")) return Quantity::tower_base;
  return std::nullopt;
}

using Found = std::vector<std::optional<Source>>;

Source thermometer(std::size_t number) {
  if (number < 2) return {Quantity::steel_temperature, {number}, true};
  return {Quantity::air_temperature, {}, true};
}

bool has_check_valve(const Rig& rig, JackId jack) {
  return std::any_of(rig.circuits.begin(), rig.circuits.end(), [&](const Circuit& circuit) {
    return circuit.check_valve && std::find(circuit.jacks.begin(), circuit.jacks.end(), jack) != circuit.jacks.end();
  });
}

void fasten_jacks(const Rig& rig, const SiteStatement& site, Found& found, std::vector<std::size_t>& jack_leg) {
  for (std::size_t j = 0; j < rig.jacks.size(); ++j) {
    const Jack& jack = rig.jacks[j];
    const std::size_t leg = jack.at ? legs_near(*jack.at, site).front() : j % leg_count;
    jack_leg.push_back(leg);
    const bool at_pump = rig.channels[jack.advance.at()].fitted_at == FittedAt::pump;
    Source pressure{at_pump ? Quantity::pump_pressure : Quantity::jack_pressure, {leg}, true};
    pressure.check_valve = has_check_valve(rig, JackId{j});
    found[jack.advance.at()] = pressure;
    if (jack.retract) found[jack.retract->at()] = Source{Quantity::return_pressure, {leg}, true,
                                                    jack.retract_area ? jack.retract_area->si() : 0};
    if (jack.stroke_channel) found[jack.stroke_channel->at()] = Source{Quantity::ram_travel, {leg}, true};
  }
}

std::string fasten_points(const Rig& rig, const SiteStatement& site, Found& found) {
  for (const Point& point : rig.points) {
    const std::optional<Quantity> quantity = quantity_of(point);
    if (!quantity) return "point " + point.name + ": its name does not begin with HEAD, COLUMN, BASE or TOWER";
    if (*quantity == Quantity::tower_base && !point.at) return "point " + point.name + ": no `at` says which tower";
    const auto legs = point.at ? legs_near(*point.at, site) : std::vector<std::size_t>{};
    for (const ChannelId gauge : point.gauges) found[gauge.at()] = Source{*quantity, legs, point.up_is_positive};
  }
  return {};
}

}  // namespace

Result<Fastening, std::string> fasten(const Rig& rig, const SiteStatement& site) {
  Found found(rig.channels.size());
  Fastening fastening;
  if (rig.jacks.size() > leg_count) return Failure{std::string{"this site has four jacks; the rig states more"}};
  fasten_jacks(rig, site, found, fastening.jack_leg);
  if (std::string error = fasten_points(rig, site, found); !error.empty()) return Failure{error};
  std::size_t thermometers = 0;
  for (std::size_t c = 0; c < rig.channels.size(); ++c) {
    const Channel& channel = rig.channels[c];
    if (!found[c] && channel.dimension.base == Base::temperature) found[c] = thermometer(thermometers++);
    if (!found[c] && channel.fitted_at == FittedAt::pump) found[c] = Source{Quantity::pump_pressure, {}, true};
    if (!found[c] && channel.bus) return Failure{"channel " + channel.name + ": nothing on this site that it could measure"};
    fastening.channels.push_back(found[c].value_or(Source{Quantity::air_temperature, {}, true}));
  }
  return fastening;
}

double true_value(const Source& source, const Site& site, double pump_pressure) {
  const auto mean = [&](auto of) {
    double sum = 0;
    for (const std::size_t leg : source.legs) sum += of(leg);
    return sum / static_cast<double>(source.legs.size());
  };
  const double sign = source.up_is_positive ? 1 : -1;
  switch (source.quantity) {
    case Quantity::jack_pressure: return site.pressure(source.legs.front());
    case Quantity::return_pressure: return source.area > 0 ? site.back_force(source.legs.front()) / source.area : 0;
    case Quantity::pump_pressure:
      return pump_pressure > 0 || source.check_valve ? pump_pressure : site.pressure(source.legs.front());
    case Quantity::ram_travel: return site.travel(source.legs.front());
    case Quantity::head: return sign * site.head();
    case Quantity::column_base: return sign * site.column_base();
    case Quantity::tower_base: return sign * mean([&](std::size_t leg) { return site.tower_base(leg); });
    case Quantity::steel_temperature: return site.tower_temperature(source.legs.front());
    case Quantity::air_temperature: return site.air();
  }
  return 0;
}

}  // namespace standfast::rig
