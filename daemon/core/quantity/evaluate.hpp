// The value of any quantity that a plan can name. The only switch over the dictionary of quantities.
#pragma once

#include <span>
#include <vector>

#include "config/quantity_kinds.hpp"
#include "daemon/core/quantity/load.hpp"
#include "daemon/core/quantity/movement.hpp"
#include "daemon/core/quantity/values.hpp"

namespace standfast {

// Which reading of a channel counts: STOP takes it as it is, everything else its median where the channel names one.
enum class Take : std::uint8_t { as_read, steadied };

struct ValueContext {
  const Job& job;
  const Values& values;
  Progress progress;
  Instant now;
  Take take{Take::as_read};
};

// Never throws, never infinite. A skew between its parts above two polls of the slowest makes it uncertain, above the
// longest `stale_after` among them bad.
Judged evaluate(const QuantityRef& of, const ValueContext& context);

// True where `steadied` may differ from `as_read`.
bool has_median(const QuantityRef& of, const Rig& rig);

// For the panel and for reading sets.
Judged load_of(JackId jack, const ValueContext& context);
LoadSum total_load(const ValueContext& context);
PointMovement movement_of(PointId point, Since since, std::uint16_t mark, const ValueContext& context);

// Marks in the making: what one reading set of all channels and all jacks gives.
struct MarkTaking {
  std::vector<MarkWindow> channels, loads;

  template <class A>
  void visit(A& a) {
    a("channels", channels);
    a("loads", loads);
  }
};
MarkTaking start_mark(const Job& job, Instant from, Duration window);
// After `take_scan`: the fresh readings of this scan's block enter.
void take_mark(MarkTaking& mark, const Scan& scan, const ValueContext& context);
// Every one of these channels (from `channels_of`) has its mean.
bool mark_full(const MarkTaking& mark, std::span<const ChannelId> needed, Instant now);
// What is full by now; the others stay without a reference.
MarkValues mark_values(const MarkTaking& mark, Instant now);
// A mark of one moment: the newest readings that are good.
MarkValues mark_of_now(const ValueContext& context);

}  // namespace standfast
