#include "daemon/service/replay.hpp"

#include <algorithm>
#include <charconv>
#include <vector>

#include "daemon/record/rows.hpp"
#include "daemon/service/recorded_events.hpp"

namespace standfast {
namespace {

using Item = RecordedEvents::Item;

// The recorded decisions in order, read in stretches.
class Decisions {
 public:
  explicit Decisions(record::RecordReader& reader) : reader_{reader} {}

  // All decisions with from < seq < to. Calls must go forward.
  Result<std::vector<record::RecordedEffect>, std::string> between(std::int64_t from, std::int64_t to) {
    std::vector<record::RecordedEffect> found;
    for (std::int64_t at = from + 1; at < to;) {
      if (at > read_to_) {
        auto more = reader_.effects(at, at + stretch - 1);
        if (!more) return Failure{more.error()};
        read_ = std::move(*more);
        place_ = 0;
        read_to_ = at + stretch - 1;
      }
      const std::int64_t until = std::min(to - 1, read_to_);
      while (place_ < read_.size() && read_[place_].seq < at) ++place_;
      while (place_ < read_.size() && read_[place_].seq <= until) found.push_back(std::move(read_[place_++]));
      at = until + 1;
    }
    return found;
  }

 private:
  static constexpr std::int64_t stretch = 20'000;
  record::RecordReader& reader_;
  std::vector<record::RecordedEffect> read_;
  std::size_t place_{0};
  std::int64_t read_to_{0};
};

std::vector<std::string> decided_again(Engine& engine, const Item& item) {
  const Effects effects = engine.apply(item.event);
  const record::Moment moment{item.span, item.event.at, item.event.wall};
  const std::string snapshot = record::wants_snapshot(effects.rows) ? engine.snapshot() : std::string{};
  std::vector<std::string> texts;
  for (const record::Row& row : record::rows_of(effects, moment, snapshot)) texts.push_back(record::effect_text(row));
  return texts;
}

// A snapshot that the service took by itself stands behind everything that the event decided.
void add_own_snapshot(const Engine& engine, const Item& item, std::size_t recorded, std::vector<std::string>& texts) {
  if (recorded != texts.size() + 1) return;
  const std::vector<EffectRow> due{SnapshotDue{}};
  const record::Moment moment{item.span, item.event.at, item.event.wall};
  texts.push_back(record::effect_text(record::rows_of(due, moment, engine.snapshot()).front()));
}

std::optional<ReplayDifference> first_difference(const std::vector<record::RecordedEffect>& recorded,
                                                 const std::vector<std::string>& replayed, std::int64_t event_seq) {
  for (std::size_t i = 0; i < std::max(recorded.size(), replayed.size()); ++i) {
    const std::string one = i < recorded.size() ? recorded[i].text : std::string{};
    const std::string other = i < replayed.size() ? replayed[i] : std::string{};
    if (one != other) return ReplayDifference{i < recorded.size() ? recorded[i].seq : event_seq, one, other};
  }
  return std::nullopt;
}

struct Start { Engine engine; std::int64_t seq{0}; };

Result<Start, std::string> start_at(record::RecordReader& reader, const record::SnapshotFound& snapshot) {
  auto restored = restored_from(reader, snapshot);
  if (!restored) return Failure{restored.error()};
  return Start{std::move(restored->engine), snapshot.seq};
}

// The first snapshot behind that row.
Result<Start, std::string> start_behind(record::RecordReader& reader, std::int64_t seq) {
  const auto next = reader.lines("snapshot", seq, 1);
  if (!next) return Failure{next.error()};
  if (next->rows.empty()) return Failure{"rows were lost at row " + std::to_string(seq) + " and no snapshot follows"};
  std::int64_t at = 0;
  const std::string text = next->rows.front().front().value_or("0");
  std::from_chars(text.data(), text.data() + text.size(), at);
  const auto found = reader.newest_snapshot(at + 1);
  if (!found) return Failure{found.error()};
  if (!*found) return Failure{"the snapshot in row " + text + " is not whole"};
  return start_at(reader, **found);
}

// It decided on a state that follows from nothing before it.
bool is_start_without_state(const Item& item, std::int64_t broken_at) {
  return std::holds_alternative<Started>(item.event.what) && item.seq + 1 == broken_at;
}

// One stretch without losses: from `start` up to the row `end`, which is a break unless it lies behind the record.
struct Stretch { std::int64_t end{0}; bool at_break{false}; };
Result<bool, std::string> run(record::RecordReader& reader, Start start, const Stretch& stretch, Replayed& replayed) {
  RecordedEvents events{reader, start.seq};
  Decisions decisions{reader};
  auto item = events.next();
  while (true) {
    if (!item) return Failure{item.error()};
    if (!*item || (*item)->seq >= stretch.end) return true;
    if (stretch.at_break && is_start_without_state(**item, stretch.end)) return true;
    auto following = events.next();
    if (!following) return Failure{following.error()};
    const std::int64_t until = *following ? std::min((*following)->seq, stretch.end) : stretch.end;
    auto recorded = decisions.between((*item)->seq, until);
    if (!recorded) return Failure{recorded.error()};
    if (const auto* started = std::get_if<Started>(&(*item)->event.what); started && !started->first) {
      const auto latched = reader.latched_alarms((*item)->seq);
      if (!latched) return Failure{latched.error()};
      start.engine.bring_back(*latched);
    }
    auto texts = decided_again(start.engine, **item);
    add_own_snapshot(start.engine, **item, recorded->size(), texts);
    ++replayed.events;
    replayed.decisions += static_cast<std::int64_t>(recorded->size());
    replayed.to_seq = recorded->empty() ? (*item)->seq : recorded->back().seq;
    replayed.first_difference = first_difference(*recorded, texts, (*item)->seq);
    if (replayed.first_difference) return false;
    item = std::move(following);
  }
}

// A daemon that ended in order left a snapshot as its last word, and nothing behind it: then the one before counts, whose
// decisions end in that snapshot.
Result<Start, std::string> first_start(record::RecordReader& reader, ReplayFrom from) {
  if (from == ReplayFrom::start) return Start{};
  std::int64_t before = INT64_MAX;
  while (true) {
    const auto newest = reader.newest_snapshot(before);
    if (!newest) return Failure{newest.error()};
    if (!*newest) return Start{};
    const auto behind = reader.events((*newest)->seq, 1);
    if (!behind) return Failure{behind.error()};
    if (!behind->empty()) return start_at(reader, **newest);
    before = (*newest)->seq;
  }
}

}  // namespace

Result<Replayed, std::string> replay(record::RecordReader& reader, ReplayFrom from) {
  const auto newest = reader.newest_seq();
  if (!newest) return Failure{newest.error()};
  auto gaps = breaks(reader);
  if (!gaps) return Failure{gaps.error()};
  auto start = first_start(reader, from);
  if (!start) return Failure{start.error()};
  Replayed replayed;
  replayed.from_seq = replayed.to_seq = start->seq;
  gaps->push_back(*newest + 1);
  for (const std::int64_t gap : *gaps) {
    if (gap < start->seq) continue;
    const auto same = run(reader, std::move(*start), {.end = gap, .at_break = gap <= *newest}, replayed);
    if (!same) return Failure{same.error()};
    if (!*same || gap == *newest + 1) return replayed;
    start = start_behind(reader, gap);
    if (!start) return Failure{start.error()};
    ++replayed.resumed;
  }
  return replayed;
}

}  // namespace standfast
