#include "daemon/service/recorded_events.hpp"

#include <algorithm>
#include <charconv>
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

Result<std::vector<std::int64_t>, std::string> breaks(record::RecordReader& reader) {
  std::vector<std::int64_t> seqs;
  constexpr std::size_t page = 1000;
  for (std::int64_t after = 0;;) {
    const auto lines = reader.lines("gap", after, page);
    if (!lines) return Failure{lines.error()};
    const auto column = [&](const char* name) {
      return static_cast<std::size_t>(std::find(lines->columns.begin(), lines->columns.end(), name) - lines->columns.begin());
    };
    for (const auto& row : lines->rows) {
      const std::string seq = row[column("seq")].value_or("0");
      std::from_chars(seq.data(), seq.data() + seq.size(), after);
      if (row[column("lost")].value_or("0") != "0") seqs.push_back(after);
    }
    if (lines->rows.size() < page) return seqs;
  }
}

Result<Restored, std::string> restored_from(record::RecordReader& reader, const record::SnapshotFound& snapshot) {
  const std::string row = "the snapshot in row " + std::to_string(snapshot.seq);
  if (snapshot.rules != rules_version) return Failure{row + " is of rules version " + std::to_string(snapshot.rules)};
  // Without a job first: a start without state has none, whatever was in force before it.
  if (auto engine = Engine::from_snapshot(snapshot.state, nullptr)) return Restored{std::move(*engine), nullptr};
  std::shared_ptr<const Job> job;
  if (snapshot.revision > 0) {
    auto parsed = RecordedEvents{reader}.job(snapshot.revision);
    if (!parsed) return Failure{parsed.error()};
    job = *parsed;
  }
  auto engine = Engine::from_snapshot(snapshot.state, job);
  if (!engine) return Failure{row + ": " + engine.error()};
  return Restored{std::move(*engine), std::move(job)};
}

namespace {

// Feeds all events from `from` on. The error is that of the record.
Result<Rebuilt, std::string> feed(record::RecordReader& reader, std::int64_t from, Restored start) {
  const auto found = breaks(reader);
  if (!found) return Failure{found.error()};
  if (!found->empty() && found->back() >= from)
    return Failure{"rows were lost at row " + std::to_string(found->back()) + " and no snapshot that can be used follows"};
  Rebuilt rebuilt{std::move(start.engine), std::move(start.job), {}};
  RecordedEvents events{reader, from};
  while (true) {
    auto item = events.next();
    if (!item) return Failure{item.error()};
    if (!*item) return rebuilt;
    const Event& event = (*item)->event;
    if (const auto* started = std::get_if<Started>(&event.what); started && !started->first) {
      const auto latched = reader.latched_alarms((*item)->seq);
      if (!latched) return Failure{latched.error()};
      rebuilt.engine.bring_back(*latched);
    }
    rebuilt.engine.apply(event);
    if (const auto* in_force = std::get_if<JobInForce>(&event.what)) rebuilt.job = in_force->job;
    if (std::holds_alternative<NoJob>(event.what)) rebuilt.job = nullptr;
  }
}

Result<Rebuilt, std::string> from_events(record::RecordReader& reader) {
  const auto newest = reader.newest_snapshot();
  if (!newest) return Failure{newest.error()};
  if (*newest)
    if (auto restored = restored_from(reader, **newest)) return feed(reader, (*newest)->seq, std::move(*restored));
  return feed(reader, 0, {Engine{}, nullptr});
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
  auto brought_back = rebuilt.engine.bring_back(latched ? *latched : latched_unknown(latched.error()));
  if (!latched) rebuilt.not_in_record = std::move(brought_back);
  const auto rows = reader ? reader->newest_seq() : Result<std::int64_t, std::string>{std::int64_t{0}};
  rebuilt.rows_left = rows ? *rows : 0;
  rebuilt.engine.leave_pictures_behind(rebuilt.rows_left);
  return rebuilt;
}

}  // namespace standfast
