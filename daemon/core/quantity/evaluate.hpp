// The value of any quantity that a plan can name. The only switch over the dictionary of quantities.
#pragma once

#include "config/quantity_kinds.hpp"
#include "daemon/core/quantity/load.hpp"
#include "daemon/core/quantity/mark_taking.hpp"
#include "daemon/core/quantity/movement.hpp"
#include "daemon/core/quantity/values.hpp"

namespace standfast {

// Never throws, never infinite. A skew between its parts above two polls of the slowest makes it uncertain, above the
// longest `stale_after` among them bad.
Judged evaluate(const QuantityRef& of, const ValueContext& context);

// What a `since` names; null where there is no such mark. `stage`: the one whose start is meant.
const MarkValues* marks_of(Since since, std::uint16_t mark, const References& references, std::optional<StageId> stage);

// True where `steadied` may differ from `as_read`.
bool has_median(const QuantityRef& of, const Rig& rig);

// For instruments, the panel and reading sets.
Judged load_of(JackId jack, const ValueContext& context);
LoadSum total_load(const ValueContext& context);
PointMovement movement_of(PointId point, Since since, std::uint16_t mark, const ValueContext& context);

// How far the gauges of a point stand apart now; one that is read by hand counts at the instant of its entry only.
Judged twins_apart(PointId point, const ValueContext& context);

// The series whose slope a rate is, where that is not taken gauge by gauge: the quantity without its reference, so that a
// new mark makes no step in it.
Judged series_of(const QuantityRef& of, const ValueContext& context);

// Is it a slope itself? It has a window of its own, and no rate.
bool is_windowed(QuantityKind kind);

}  // namespace standfast
