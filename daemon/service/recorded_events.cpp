#include "daemon/service/recorded_events.hpp"

#include <utility>

#include "daemon/service/job_folder.hpp"

namespace standfast {

Result<std::shared_ptr<const Job>, std::string> RecordedEvents::job(std::int64_t revision) {
  if (const auto known = jobs_.find(revision); known != jobs_.end()) return known->second;
  auto found = reader_.revision(revision);
  if (!found) return Failure{found.error()};
  if (!*found) return Failure{"revision " + std::to_string(revision) + " is not in the record"};
  if (sha256_hex((*found)->rig_yaml) != (*found)->rig_sha256 || sha256_hex((*found)->stages_yaml) != (*found)->stages_sha256)
    return Failure{"revision " + std::to_string(revision) + " is damaged: its bytes are not those that were accepted"};
  auto parsed = make_revision({(*found)->rig_yaml, (*found)->stages_yaml});
  if (!parsed)
    return Failure{"revision " + std::to_string(revision) + " no longer loads: " + parsed.error().front().message};
  return jobs_[revision] = parsed->job;
}

Result<std::optional<RecordedEvents::Item>, std::string> RecordedEvents::next() {
  if (place_ == page_.size()) {
    auto page = reader_.events(next_);
    if (!page) return Failure{page.error()};
    page_ = std::move(*page);
    place_ = 0;
    if (page_.empty()) return std::optional<Item>{};
    next_ = page_.back().seq + 1;
  }
  record::RecordedEvent& recorded = page_[place_++];
  Item item{recorded.seq, recorded.span, recorded.revision, std::move(recorded.event)};
  if (auto* in_force = std::get_if<JobInForce>(&item.event.what)) {
    auto parsed = job(item.revision);
    if (!parsed) return Failure{"row " + std::to_string(item.seq) + ": " + parsed.error()};
    in_force->job = *parsed;
  }
  return std::optional<Item>{std::move(item)};
}

namespace {

// Feeds all events from `from` on. The error is that of the record.
Result<Rebuilt, std::string> feed(record::RecordReader& reader, std::int64_t from, Rebuilt rebuilt) {
  RecordedEvents events{reader, from};
  while (true) {
    auto item = events.next();
    if (!item) return Failure{item.error()};
    if (!*item) return rebuilt;
    const Event& event = (*item)->event;
    rebuilt.engine.apply(event);
    if (const auto* in_force = std::get_if<JobInForce>(&event.what)) rebuilt.job = in_force->job;
    if (std::holds_alternative<NoJob>(event.what)) rebuilt.job = nullptr;
  }
}

Result<Rebuilt, std::string> from_events(record::RecordReader& reader) {
  const auto newest = reader.newest_snapshot();
  if (!newest) return Failure{newest.error()};
  if (*newest && (*newest)->rules == rules_version) {
    const record::SnapshotFound& snapshot = **newest;
    std::shared_ptr<const Job> job;
    if (snapshot.revision > 0) {
      auto parsed = RecordedEvents{reader}.job(snapshot.revision);
      if (!parsed) return Failure{parsed.error()};
      job = *parsed;
    }
    if (auto engine = Engine::from_snapshot(snapshot.state, job))
      return feed(reader, snapshot.seq, {std::move(*engine), std::move(job), {}});
  }
  return feed(reader, 0, {Engine{}, nullptr, {}});
}

}  // namespace

Rebuilt rebuild(record::RecordReader& reader) {
  auto rebuilt = from_events(reader);
  if (!rebuilt) return without_state(&reader, rebuilt.error());
  const auto latched = reader.latched_alarms();
  rebuilt->engine.bring_back(latched ? *latched : latched_unknown(latched.error()));
  return std::move(*rebuilt);
}

Rebuilt without_state(record::RecordReader* reader, const std::string& trouble) {
  Rebuilt rebuilt{Engine{}, nullptr, trouble};
  const auto latched =
      reader ? reader->latched_alarms() : Result<LatchedAlarms, std::string>{Failure{std::string("the record cannot be read")}};
  rebuilt.engine.bring_back(latched ? *latched : latched_unknown(latched.error()));
  const auto rows = reader ? reader->newest_seq() : Result<std::int64_t, std::string>{std::int64_t{0}};
  rebuilt.engine.leave_pictures_behind(rows ? *rows : 0);
  return rebuilt;
}

}  // namespace standfast
