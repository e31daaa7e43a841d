// The record as a disk keeps it, in memory: rows of the record's own making, which become durable a moment later, or do not
// while the disk refuses. What a crash leaves is the newest durable snapshot and the durable events behind it, read back
// from their rows.
#pragma once

#include <deque>
#include <optional>
#include <string>
#include <vector>

#include "daemon/core/engine.hpp"
#include "daemon/record/rows.hpp"

namespace standfast::test {

class Disk {
 public:
  explicit Disk(std::shared_ptr<const Job> job) : job_{std::move(job)} {}

  // The seq of the last row; `snapshot` of the engine behind it, empty where none was due.
  std::int64_t write(const Event& event, const Effects& effects, std::string snapshot, Instant durable_at);
  void refuse(bool refuses) { refuses_ = refuses; }
  bool refuses() const { return refuses_; }
  void pass(Instant now);
  std::int64_t durable_seq() const { return durable_; }
  std::int64_t last_seq() const { return last_; }
  // How long the oldest row that is not durable has waited.
  Duration lag(Instant now) const;

  struct Again { std::optional<Engine> engine; bool all_durable{false}; std::string trouble; };
  // As a start would find it: newest durable snapshot, the durable tail applied. Everything else is gone from here on.
  Again crash();
  struct Replayed { int stretches{0}; std::string trouble; };
  // The events between each two durable snapshots, read back from their rows, give the second from the first; each stretch
  // once. trouble: empty, or what differs.
  Replayed replay_new_stretches();

 private:
  struct Group { std::int64_t last_seq; Instant written, durable_at; record::Row row; bool bits; std::string snapshot; };
  std::optional<Event> read_back(const Group& group) const;
  std::string apply_group(Engine& engine, const Group& group) const;
  Result<Engine, std::string> engine_of(const std::string& snapshot) const;

  std::shared_ptr<const Job> job_;
  std::deque<Group> groups_;  // From the newest durable snapshot from which everything before has been replayed.
  int new_snapshots_{0};      // Durable ones behind the first group.
  std::int64_t last_{0}, durable_{0};
  std::size_t durable_groups_{0};
  bool refuses_{false};
};

}  // namespace standfast::test
