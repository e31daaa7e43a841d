#include "tests/simulation/disk.hpp"

#include <algorithm>

#include "daemon/core/state.hpp"

namespace standfast::test {

std::int64_t Disk::write(const Event& event, const Effects& effects, std::string snapshot, Instant durable_at) {
  if (std::holds_alternative<Tick>(event.what) && effects.rows.empty() && snapshot.empty()) return last_;
  const record::Where where{.span = 1, .revision = 1, .host = "simulated"};
  const record::Moment moment{1, event.at, event.wall};
  const auto decided = record::rows_of(effects, moment, snapshot);
  last_ += 1 + static_cast<std::int64_t>(decided.size());
  const auto* scan = std::get_if<Scan>(&event.what);
  const bool bits = scan && std::holds_alternative<Bits>(scan->raw);
  groups_.push_back({last_, event.at, durable_at, record::row_of(event, where), bits, std::move(snapshot)});
  return last_;
}

void Disk::pass(Instant now) {
  while (!refuses_ && durable_groups_ < groups_.size() && groups_[durable_groups_].durable_at <= now) {
    durable_ = groups_[durable_groups_].last_seq;
    new_snapshots_ += durable_groups_ > 0 && !groups_[durable_groups_].snapshot.empty();
    ++durable_groups_;
  }
}

Duration Disk::lag(Instant now) const {
  return durable_groups_ < groups_.size() ? std::max(Duration{}, now - groups_[durable_groups_].written) : Duration{};
}

std::optional<Event> Disk::read_back(const Group& group) const {
  auto event = record::event_of(group.row, group.bits);
  if (!event) return std::nullopt;
  if (auto* in_force = std::get_if<JobInForce>(&event->what)) in_force->job = job_;
  return *event;
}

Result<Engine, std::string> Disk::engine_of(const std::string& snapshot) const {
  auto engine = Engine::from_snapshot(snapshot, job_);
  return engine ? std::move(engine) : Engine::from_snapshot(snapshot, nullptr);
}

std::string Disk::apply_group(Engine& engine, const Group& group) const {
  const auto event = read_back(group);
  if (!event) return "a row of the record cannot be read back";
  engine.apply(*event);
  if (!group.snapshot.empty() && engine.snapshot() != group.snapshot) return "replay gives another state than was recorded";
  return {};
}

Disk::Again Disk::crash() {
  Again again{Engine{}, durable_groups_ == groups_.size(), {}};
  groups_.erase(groups_.begin() + static_cast<std::ptrdiff_t>(durable_groups_), groups_.end());
  last_ = durable_;
  std::size_t from = 0;
  for (std::size_t i = groups_.size(); i-- > 0 && from == 0;) {
    if (groups_[i].snapshot.empty()) continue;
    auto engine = engine_of(groups_[i].snapshot);
    if (!engine) return {{}, false, "a snapshot cannot be read: " + engine.error()};
    again.engine = std::move(*engine);
    from = i + 1;
  }
  for (std::size_t i = from; i < groups_.size(); ++i)
    if (again.trouble = apply_group(*again.engine, groups_[i]); !again.trouble.empty()) return again;
  return again;
}

Disk::Replayed Disk::replay_new_stretches() {
  Replayed replayed;
  for (; new_snapshots_ > 0; --new_snapshots_) {
    auto engine = engine_of(groups_.front().snapshot);
    if (!engine) return {0, "a snapshot cannot be read: " + engine.error()};
    do {
      groups_.pop_front();
      --durable_groups_;
      replayed.trouble = apply_group(*engine, groups_.front());
    } while (groups_.front().snapshot.empty() && replayed.trouble.empty());
    if (!replayed.trouble.empty()) return replayed;
    ++replayed.stretches;
  }
  return replayed;
}

}  // namespace standfast::test
