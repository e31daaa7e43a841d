#include "daemon/service/journal.hpp"

#include <iterator>
#include <utility>

namespace standfast {

std::vector<record::Row> Journal::rows(const Event& event, const Effects& effects, const std::string& snapshot) {
  std::vector<record::Row> all;
  const bool tick = std::holds_alternative<Tick>(event.what);
  if (tick && effects.rows.empty()) return all;
  if (const auto broken = std::exchange(broken_, std::nullopt)) all = rows(broken->gap, moment(event), broken->brought_back);
  all.insert(all.begin(), record::row_of(event, where_));
  auto decided = record::rows_of(effects, moment(event), snapshot);
  all.insert(all.end(), std::make_move_iterator(decided.begin()), std::make_move_iterator(decided.end()));
  return all;
}

std::int64_t Journal::append(std::vector<record::Row> rows, const Event& at) {
  if (rows.empty()) return last_seq_;
  if (keeper_.before_append) keeper_.before_append();
  if (!keeper_.writer) return lost_row;
  const auto count = static_cast<std::int64_t>(rows.size());
  const std::int64_t lost_before = lost_;
  if (lost_before > 0)
    rows.insert(rows.begin(), record::row_of(record::Gap{lost_since_, at.wall, lost_, "no room for rows that wait for the disk"},
                                             moment(at)));
  if (const auto seq = keeper_.writer->append(std::move(rows))) {
    lost_ = 0;
    snapshot_due_ = snapshot_due_ || lost_before > 0;
    return last_seq_ = *seq;
  }
  if (lost_before == 0) lost_since_ = at.wall;
  lost_ += count;
  return lost_row;
}

std::int64_t Journal::write_with_snapshot(const Event& event, const Effects& effects, const std::string& snapshot) {
  Effects all = effects;
  if (!record::wants_snapshot(all.rows)) all.rows.emplace_back(SnapshotDue{});
  all.instants.resize(all.rows.size(), event.at);
  std::vector<record::Row> rows = record::rows_of(all, moment(event), snapshot);
  rows.insert(rows.begin(), record::row_of(event, where_));
  const std::int64_t seq = append(std::move(rows), event);
  if (seq != lost_row) snapshot_due_ = false;
  return seq;
}

std::int64_t Journal::write_revision(const Revision& revision, const Event& at) {
  ++where_.revision;
  return append(record::rows_of(record::RevisionBytes{revision.bytes.rig, revision.bytes.plan}, *revision.job,
                                where_.revision, moment(at)),
                at);
}

void Journal::mark_simulated(const Job& job, const Event& at) {
  if (!keeper_.writer || !job.rig.simulated || keeper_.writer->simulated()) return;
  keeper_.writer->append_about({true, job.rig.title, STANDFAST_VERSION, where_.host, at.wall});
}

std::string Journal::head() const { return keeper_.writer ? hex(keeper_.writer->durable_tail().head) : std::string{}; }

void Journal::try_again() {
  if (keeper_.writer) keeper_.writer->try_again();
}

std::vector<record::Row> Journal::rows(const record::Gap& gap, const record::Moment& moment,
                                       const std::vector<EffectRow>& brought_back) const {
  std::vector<record::Row> all = record::rows_of(brought_back, moment, {});
  all.insert(all.begin(), record::row_of(gap, moment));
  return all;
}

std::optional<RecordHealth> Journal::health_changed() {
  const record::Health health =
      keeper_.writer ? keeper_.writer->health()
                     : record::Health{.state = RecordState::failed, .disk_full = false, .latched = true, .why = keeper_.why};
  why_ = health.why;
  if (health.state == std::exchange(told_, health.state)) return std::nullopt;
  return RecordHealth{health.state};
}

}  // namespace standfast
