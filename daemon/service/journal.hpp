// What the engine took and decided, on its way into the record: one group of rows for each event, in the order of
// decision. Ticks that changed nothing leave no trace. Where the record has no room the loss itself becomes a row.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "daemon/core/effect.hpp"
#include "daemon/core/event.hpp"
#include "daemon/record/record_writer.hpp"
#include "daemon/record/rows.hpp"
#include "daemon/service/giving.hpp"
#include "daemon/service/job_folder.hpp"

namespace standfast {

class Journal {
 public:
  // No writer: the record on disk is not trusted and stays as it is; nothing is recorded, and `why` says so.
  // `before_append` is for tests: it is called whenever rows are about to be handed over.
  struct Keeper {
    record::RecordWriter* writer;
    std::string why;
    std::function<void()> before_append;
    std::string why_unsigned{};  // Why there are no checkpoints.
  };
  Journal(Keeper keeper, record::Where where) : keeper_{std::move(keeper)}, where_{std::move(where)} {}

  // The seq of the last row written for it; that of the newest row at all if it left no trace; `lost_row` if there
  // was no room.
  // `snapshot` is asked for only if the effects want one.
  template <class Snapshot>
  std::int64_t write(const Event& event, const Effects& effects, Snapshot snapshot) {
    const bool wanted = record::wants_snapshot(effects.rows);
    return append(rows(event, effects, wanted ? snapshot() : std::string{}), event);
  }
  // The same with a snapshot behind it that no effect asked for; the event is written whatever it is.
  std::int64_t write_with_snapshot(const Event& event, const Effects& effects, const std::string& snapshot);
  // Rows were lost and there is room again: what follows can be replayed only from a new snapshot.
  bool snapshot_due() const { return snapshot_due_; }
  // The bytes of a pair of files that is about to come into force; what is written later belongs to it.
  std::int64_t write_revision(const Revision& revision, const Event& at);
  // What comes next will not be refused. Never without a writer.
  bool has_room() const { return keeper_.writer && keeper_.writer->has_room(); }
  // Once simulated, a record says so for ever.
  void mark_simulated(const Job& job, const Event& at);
  // Behind the gap: the rows of what was brought back across it.
  void write_gap(const record::Gap& gap, const Event& at, const std::vector<EffectRow>& brought_back = {}) {
    append(rows(gap, moment(at), brought_back), at);
  }

  // The next event is a start that has no state to go on from: the same between its row and what it decides.
  void break_at_next(const record::Gap& gap, std::vector<EffectRow> brought_back) { broken_ = Break{gap, std::move(brought_back)}; }

  std::int64_t last_seq() const { return last_seq_; }
  std::int64_t durable_seq() const { return keeper_.writer ? keeper_.writer->durable_seq() : 0; }
  std::int64_t revision() const { return where_.revision; }

  // The newest seal on disk: its 32 bytes in lower-case hex; empty without a writer.
  std::string head() const;
  // The public key of the checkpoints, in hex; empty where there are none, and `why_unsigned` says why.
  std::string public_key() const { return keeper_.writer ? hex(keeper_.writer->public_key()) : std::string{}; }
  const std::string& why_unsigned() const { return keeper_.why_unsigned; }
  // A person has looked: a disk that was given up is tried again.
  void try_again();

  // The record's state if it is not the one told last.
  std::optional<RecordHealth> health_changed();
  const std::string& why_unhealthy() const { return why_; }

 private:
  std::vector<record::Row> rows(const Event& event, const Effects& effects, const std::string& snapshot);
  std::vector<record::Row> rows(const record::Gap& gap, const record::Moment& moment, const std::vector<EffectRow>& brought_back) const;
  std::int64_t append(std::vector<record::Row> rows, const Event& at);
  record::Moment moment(const Event& at) const { return {where_.span, at.at, at.wall}; }

  Keeper keeper_;
  record::Where where_;
  std::int64_t last_seq_{0};
  std::int64_t lost_{0};
  WallTime lost_since_{};
  struct Break { record::Gap gap; std::vector<EffectRow> brought_back; };
  std::optional<Break> broken_;
  bool snapshot_due_{false};
  RecordState told_{RecordState::healthy};
  std::string why_;
};

}  // namespace standfast
