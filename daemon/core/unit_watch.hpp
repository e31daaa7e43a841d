// A unit or a gateway that has stopped measuring and goes on answering: all its channels stand bit-identical, although they
// flicker when nobody moves anything.
//
// A channel *turns back* where two changes in a row go opposite ways, each by two steps of its resolution or more: neither a
// ramp does that nor a coarse gauge at the edge between two steps. A unit *flickers* once, while no oil flowed, some channel
// of it has turned back at least every 10 s for a minute. If then every answer of its channels is the same for 10 s, and no
// poll failed between, it is frozen until a channel changes; and has to show anew that it flickers.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "daemon/core/channel_value.hpp"

namespace standfast {

inline constexpr Duration unit_frozen_after = seconds(10);
inline constexpr Duration flickers_apart = seconds(10), flickers_for = minutes(1);

struct UnitWatch {
  std::optional<Instant> turned_since, turned_at;  // The run of turns, and its newest.
  bool flickers{false};
  std::optional<Instant> still_since;  // The first of the answers that are all the same; none behind a failed poll.
  bool frozen{false};

  template <class A>
  void visit(A& a) {
    a("turned_since", turned_since);
    a("turned_at", turned_at);
    a("flickers", flickers);
    a("still_since", still_since);
    a("frozen", frozen);
  }
};

struct UnitWatches {
  std::vector<UnitWatch> units;  // By block; of the blocks of one unit the first stands for it.
  std::vector<UnitWatch> buses;  // By bus: a gateway with all its units.

  template <class A>
  void visit(A& a) {
    a("units", units);
    a("buses", buses);
  }
};

UnitWatches new_unit_watches(const Job& job);

// Behind the scan's channels. Their readings are doubted while their unit or bus is frozen.
void watch_units(UnitWatches& watches, std::span<ChannelState> channels, const Job& job, const Scan& scan, Instant taken_at,
                 bool oil_flows);

struct FrozenUnit {
  std::string name;  // `bus gauges`, or `unit 3 on bus gauges`.
  std::vector<ChannelId> channels;
};
// A bus stands for the units on it.
std::vector<FrozenUnit> frozen_units(const UnitWatches& watches, const Job& job);

}  // namespace standfast
