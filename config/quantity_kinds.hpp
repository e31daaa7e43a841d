// The dictionary of quantities a limit can watch: name, dimension, arguments. The core's switch over it has no default.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "config/instant.hpp"
#include "config/units.hpp"

namespace standfast {

enum class QuantityKind : std::uint8_t {
  pressure,            // of a jack's advance side
  load,                // of a jack
  circuit_load,        // sum over a circuit's jacks
  group_load,          // sum over a group's jacks
  total_load,          // sum over all jacks
  share,               // of a jack: its load over the total
  transferred,         // total load over the expected column load
  movement,            // of a point, up positive, since `since`
  differential,        // movement of one point minus movement of another
  tilt,                // magnitude of the plane through three or more points
  warp,                // (u1 + u3) - (u2 + u4) of four points in order
  travel,              // of a jack's ram, since `since`
  travel_left,         // stroke limit minus ram reading
  load_lost,           // load of a jack at the mark minus its load now
  predicted_departure, // ram travel minus the plan's prediction
  stiffness_ratio,     // slope of load on travel over the predicted slope
  creep,               // movement of a point per decade of time since the step was reached
  temperature,         // of a channel
  temperature_change,  // of a channel since `since`
  agreement,           // largest difference between a point's gauges
  pressure_spread,     // largest difference between the pressures of a circuit's jacks
  supply,              // pressure before a circuit's check valves over the lowest behind them while the pump runs; else 0
  channel,             // any channel's value as scaled
};
inline constexpr int quantity_kind_count = 23;

enum class Argument : std::uint8_t { none, jack, circuit, group, point, channel };

struct QuantityEntry {
  QuantityKind kind;
  std::string_view name;  // As written after `of:`.
  Argument argument;
  int least, most;        // How many arguments.
  std::optional<Base> base;  // None: the channel's own dimension.
  bool takes_since;
  std::string_view example;
};

inline constexpr std::array<QuantityEntry, quantity_kind_count> quantity_entries{{
    {QuantityKind::pressure, "pressure", Argument::jack, 1, 1, Base::pressure, false, "pressure J1"},
    {QuantityKind::load, "load", Argument::jack, 1, 1, Base::force, false, "load J1"},
    {QuantityKind::circuit_load, "load circuit", Argument::circuit, 1, 1, Base::force, false, "load circuit A"},
    {QuantityKind::group_load, "load group", Argument::group, 1, 1, Base::force, false, "load group WEST"},
    {QuantityKind::total_load, "load total", Argument::none, 0, 0, Base::force, false, "load total"},
    {QuantityKind::share, "share", Argument::jack, 1, 1, Base::ratio, false, "share J1"},
    {QuantityKind::transferred, "transferred", Argument::none, 0, 0, Base::ratio, false, "transferred"},
    {QuantityKind::movement, "movement", Argument::point, 1, 1, Base::length, true, "movement HEAD"},
    {QuantityKind::differential, "differential", Argument::point, 2, 2, Base::length, true, "differential HEAD BASE"},
    {QuantityKind::tilt, "tilt", Argument::point, 3, 16, Base::angle, true, "tilt P1 P2 P3"},
    {QuantityKind::warp, "warp", Argument::point, 4, 4, Base::length, true, "warp P1 P2 P3 P4"},
    {QuantityKind::travel, "travel", Argument::jack, 1, 1, Base::length, true, "travel J1"},
    {QuantityKind::travel_left, "travel left", Argument::jack, 1, 1, Base::length, false, "travel left J1"},
    {QuantityKind::load_lost, "load lost", Argument::jack, 1, 1, Base::force, true, "load lost J1"},
    {QuantityKind::predicted_departure, "departure", Argument::jack, 1, 1, Base::length, false, "departure J1"},
    {QuantityKind::stiffness_ratio, "stiffness ratio", Argument::jack, 1, 1, Base::ratio, false, "stiffness ratio J1"},
    {QuantityKind::creep, "creep", Argument::point, 1, 1, Base::length, false, "creep HEAD"},
    {QuantityKind::temperature, "temperature", Argument::channel, 1, 1, Base::temperature, false, "temperature T1"},
    {QuantityKind::temperature_change, "temperature change", Argument::channel, 1, 1, Base::temperature_difference, true,
     "temperature change T1"},
    {QuantityKind::agreement, "agreement", Argument::point, 1, 1, Base::length, false, "agreement HEAD"},
    {QuantityKind::pressure_spread, "pressure spread", Argument::circuit, 1, 1, Base::pressure, false, "pressure spread A"},
    {QuantityKind::supply, "supply", Argument::circuit, 1, 1, Base::pressure, false, "supply A"},
    {QuantityKind::channel, "channel", Argument::channel, 1, 1, std::nullopt, false, "channel S1"},
}};

constexpr const QuantityEntry& entry_of(QuantityKind kind) { return quantity_entries[static_cast<std::size_t>(kind)]; }

enum class Since : std::uint8_t { baseline, stage_start, lock_off, mark };

// One quantity as a plan names it, its arguments resolved: indices into the rig's jacks, points, channels, ...
struct QuantityRef {
  QuantityKind kind{};
  std::vector<std::uint16_t> subjects;
  Since since{Since::baseline};
  std::uint16_t mark{0};        // Place in Plan::marks where since == mark.
  bool from_planned{false};     // share only: minus the planned share.
  bool rate{false};             // Least-squares slope of it over the window `over`, per second.
  Duration over{};
  Dimension dimension{};        // Of the whole, rate and decade included.
  friend bool operator==(const QuantityRef& a, const QuantityRef& b) {
    return a.kind == b.kind && a.subjects == b.subjects && a.since == b.since && a.mark == b.mark &&
           a.from_planned == b.from_planned && a.rate == b.rate && a.over == b.over;
  }
};

}  // namespace standfast
