#include "daemon/core/summary.hpp"

#include <algorithm>

namespace standfast {
namespace {

bool is_due(std::optional<Instant>& at, Instant now, Duration every) {
  if (at && now < *at) return false;
  at = now + every;
  return true;
}

}  // namespace

void ask_for_snapshot(Cause why, std::vector<EffectRow>& rows) {
  const auto is_due_already = [](const EffectRow& row) { return std::holds_alternative<SnapshotDue>(row); };
  if (std::none_of(rows.begin(), rows.end(), is_due_already)) rows.emplace_back(SnapshotDue{why});
}

bool summarise(State& state, std::vector<EffectRow>& rows) {
  if (!state.job || !is_due(state.summary_at, state.now, summary_every)) return false;
  const Rig& rig = state.job->rig;
  const ValueContext context = context_of(state, Take::as_read);
  const auto add = [&](std::string quantity, const Reading& reading) { rows.emplace_back(DerivedValue{std::move(quantity), reading}); };
  for (std::size_t j = 0; j < rig.jacks.size(); ++j) add("load " + rig.jacks[j].name, load_of(JackId{j}, context).high);
  if (!rig.jacks.empty()) add("load total", total_load(context).sum.high);
  for (std::size_t p = 0; p < rig.points.size(); ++p) {
    const PointMovement moved = movement_of(PointId{p}, Since::baseline, 0, context);
    add("movement " + rig.points[p].name + " highest", moved.worst.high);
    add("movement " + rig.points[p].name + " lowest", moved.worst.low);
  }
  if (is_due(state.snapshot_at, state.now, snapshot_every)) ask_for_snapshot(Cause::none, rows);
  return true;
}

}  // namespace standfast
