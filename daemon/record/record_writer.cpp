#include "daemon/record/record_writer.hpp"

#include <algorithm>
#include <chrono>
#include <condition_variable>
#include <deque>
#include <mutex>
#include <thread>

#include "daemon/record/ballast.hpp"
#include "daemon/record/checkpoint.hpp"
#include "daemon/record/log_afresh.hpp"
#include "daemon/record/record_store.hpp"

namespace standfast::record {
namespace {

using SteadyTime = std::chrono::steady_clock::time_point;
constexpr std::chrono::milliseconds shortest_pause{50}, longest_pause{1000};

// Answers, and values computed from them once a second.
bool was_only_read(const Row& row) {
  return row.table == RecordTable::scan || row.table == RecordTable::output_report || row.table == RecordTable::value;
}

struct Waiting {
  std::vector<Row> rows;
  std::size_t bytes{0};
  SteadyTime since;
};

std::size_t bytes_of(const std::vector<Row>& rows) {
  std::size_t bytes = 0;
  for (const Row& row : rows) {
    bytes += sizeof(Row) + row.values.size() * sizeof(Value);
    for (const Value& value : row.values)
      if (const auto* text = std::get_if<std::string>(&value)) bytes += text->size();
  }
  return bytes;
}

}  // namespace

struct RecordWriter::Work {
  Work(std::filesystem::path path, std::function<void()> on_change, std::shared_ptr<WriterSeam> held,
       std::shared_ptr<const Signer> key)
      : record{std::move(path)}, notify{std::move(on_change)}, seam{std::move(held)}, signer{std::move(key)},
        ballast{std::filesystem::absolute(record.string() + ".ballast"), seam->ballast()} {}

  const std::filesystem::path record;
  const std::function<void()> notify;
  const std::shared_ptr<WriterSeam> seam;
  const std::shared_ptr<const Signer> signer;  // None: no checkpoints.
  const Ballast ballast;
  Tail opened;

  mutable std::mutex mutex;      // Guards everything up to `thread`.
  std::condition_variable wake;  // Rows wait, or closing, or asked_again.
  std::deque<Waiting> waiting;
  CheckpointTurn checkpoints;
  bool waits_for_company{true};  // All of them only were read.
  std::optional<SteadyTime> in_commit_since;
  std::size_t rows{0}, bytes{0};  // Waiting and in the running commit.
  std::int64_t next_seq{1};
  Tail durable;
  bool failed{false}, mended{false}, latched{false}, closing{false}, asked_again{false}, simulated{false};
  bool disk_full{false};         // Written by the thread alone, which may read it unlocked.
  int failures{0};
  std::string why;
  std::thread thread;

  RecordStore store;  // The thread's alone, after opening.
  SteadyTime commit_began{};  // The newest.
  int strikes{0};     // Failures since a person last said that the disk is mended.
  std::chrono::milliseconds next_pause{shortest_pause};

  std::optional<OpenRefusal> open(const About& about);
  void run();
  void enqueue(std::vector<Row>&& group, std::size_t size);
  void enqueue_checkpoint(const std::optional<Moment>& due);
  bool take(Batch& batch, std::size_t& bytes_taken);
  bool write(const Batch& batch);
  bool mend(const Batch& batch);
  bool reopen(const Batch& batch);
  bool make_room();
  bool pause();
  bool wait_for_a_person();
  void publish(const Batch& batch);
  void lay_ballast_again();
  void report_failure(const std::string& reason);
};

std::optional<OpenRefusal> RecordWriter::Work::open(const About& about) {
  const auto found = look_at(record);
  if (!found) return found.error();
  if (*found == Found::nothing)
    if (auto refusal = create(record, about)) return refusal;
  const RecordStore::How how{seam->vfs(), seam->synchronous()};
  auto tail = store.open(record, how);
  if (!tail && tail.error().kind == RefusalKind::not_writable && ballast.give_back()) {
    seam->ballast_given_back();
    tail = store.open(record, how);
  }
  if (!tail) return tail.error();
  opened = durable = *tail;
  simulated = opened.simulated;
  next_seq = opened.seq + 1;
  disk_full = !ballast.lay_down();
  return std::nullopt;
}

void RecordWriter::Work::run() {
  Batch batch;
  std::size_t taken = 0;
  while (take(batch, taken)) {
    if (!write(batch)) break;
    const std::lock_guard lock{mutex};
    rows -= batch.rows.size();
    bytes -= taken;
    in_commit_since.reset();
  }
  store.close();
}

// The mutex is held.
void RecordWriter::Work::enqueue(std::vector<Row>&& group, std::size_t size) {
  rows += group.size();
  bytes += size;
  next_seq += static_cast<std::int64_t>(group.size());
  waits_for_company = waits_for_company && std::all_of(group.begin(), group.end(), was_only_read);
  waiting.push_back({std::move(group), size, seam->now()});
}

void RecordWriter::Work::enqueue_checkpoint(const std::optional<Moment>& due) {
  if (!due || !signer) return;
  checkpoints.taken(*due, next_seq);
  std::vector<Row> row{unsigned_checkpoint(*due)};
  const std::size_t size = bytes_of(row);
  enqueue(std::move(row), size);
}

// False: closing, and nothing waits.
bool RecordWriter::Work::take(Batch& batch, std::size_t& bytes_taken) {
  std::unique_lock lock{mutex};
  wake.wait(lock, [this] { return closing || !waiting.empty(); });
  wake.wait_until(lock, commit_began + std::chrono::nanoseconds{seam->gathers_for().ns}, [this] { return closing || !waits_for_company; });
  if (waiting.empty()) enqueue_checkpoint(checkpoints.behind(durable.seq));  // In a batch of its own, behind all it signs.
  if (waiting.empty()) return false;
  commit_began = std::chrono::steady_clock::now();
  batch = {durable.batch + 1, durable.seq + 1, durable.seq, std::move(waiting.front().rows), {}};
  bytes_taken = waiting.front().bytes;
  in_commit_since = waiting.front().since;
  waiting.pop_front();
  while (!waiting.empty() && batch.rows.size() + waiting.front().rows.size() <= most_rows_in_a_commit) {
    for (Row& row : waiting.front().rows) batch.rows.push_back(std::move(row));
    bytes_taken += waiting.front().bytes;
    waiting.pop_front();
  }
  waits_for_company = waiting.empty() || waits_for_company;
  batch.last_seq += static_cast<std::int64_t>(batch.rows.size());
  const SealedHead before{durable.batch, durable.head};
  lock.unlock();
  if (signer)
    for (Row& row : batch.rows)
      if (is_unsigned_checkpoint(row)) sign(row, before, *signer);
  seal(batch, before.head);
  return true;
}

// False: it could not be written, and the writer is closing.
bool RecordWriter::Work::write(const Batch& batch) {
  if (seam->acknowledges_early()) publish(batch);
  for (;;) {
    seam->before_commit();
    switch (store.commit(batch)) {
      case Outcome::done:
        publish(batch);
        switch (store.checkpoint_if_due()) {
          case Outcome::done: case Outcome::busy: return true;
          case Outcome::disk_full: make_room(); return true;
          case Outcome::in_doubt: return mend(batch);
        }
        return true;
      case Outcome::busy:
        if (!pause()) return false;
        break;
      case Outcome::disk_full:
        if (!make_room()) return false;
        break;
      case Outcome::in_doubt:
        if (!mend(batch)) return false;
        if (durable.batch == batch.number) return true;
        break;
    }
  }
}

// After a failure: until the file is open again and known to be whole, with the batch or without it.
bool RecordWriter::Work::mend(const Batch& batch) {
  {
    const std::lock_guard lock{mutex};
    ++failures;
    latched = ++strikes > 1;
  }
  report_failure(store.why());
  while (latched || !reopen(batch)) {
    if (!wait_for_a_person()) return false;
    const std::lock_guard lock{mutex};
    latched = asked_again = false;
    strikes = 0;
  }
  const std::lock_guard lock{mutex};
  mended = true;
  return true;
}

bool RecordWriter::Work::reopen(const Batch& batch) {
  store.abandon();
  std::string reason = write_log_afresh(record, seam->vfs());
  if (reason.empty()) {
    const auto tail = store.open(record, {seam->vfs(), seam->synchronous()});
    if (!tail) reason = tail.error().text;
    else if (tail->batch == batch.number && tail->head == batch.head) publish(batch);
    else if (tail->batch != durable.batch || tail->head != durable.head) reason = "rows that were on disk are there no longer";
  }
  if (reason.empty()) return true;
  {
    const std::lock_guard lock{mutex};
    latched = true;
  }
  report_failure(reason);
  return false;
}

// The disk is full: gives the ballast back, or waits a moment. False: closing.
bool RecordWriter::Work::make_room() {
  {
    const std::lock_guard lock{mutex};
    disk_full = true;
  }
  report_failure("the disk is full");
  if (ballast.give_back()) {
    seam->ballast_given_back();
    return true;
  }
  return pause();
}

// Longer each time, until a commit is done. False: closing.
bool RecordWriter::Work::pause() {
  std::unique_lock lock{mutex};
  const auto how_long = next_pause;
  next_pause = std::min(2 * next_pause, longest_pause);
  return !wake.wait_for(lock, how_long, [this] { return closing; });
}

bool RecordWriter::Work::wait_for_a_person() {
  std::unique_lock lock{mutex};
  wake.wait(lock, [this] { return closing || asked_again; });
  return !closing;
}

void RecordWriter::Work::publish(const Batch& batch) {
  next_pause = shortest_pause;
  {
    const std::lock_guard lock{mutex};
    durable.batch = batch.number;
    durable.seq = batch.last_seq;
    durable.head = batch.head;
    mended = failed && !latched;
  }
  if (notify) notify();
  if (disk_full) lay_ballast_again();
}

// May take as long as the disk likes, so nobody waits for it: not for the lock, and not for what is durable already.
void RecordWriter::Work::lay_ballast_again() {
  seam->before_ballast();
  if (!ballast.lay_down()) return;
  {
    const std::lock_guard lock{mutex};
    disk_full = false;
  }
  if (notify) notify();
}

void RecordWriter::Work::report_failure(const std::string& reason) {
  {
    const std::lock_guard lock{mutex};
    failed = true;
    mended = false;
    why = reason;
  }
  if (notify) notify();
}

RecordWriter::RecordWriter(std::unique_ptr<Work> work) : work_{std::move(work)} {
  work_->thread = std::thread{[work = work_.get()] { work->run(); }};
}

RecordWriter::~RecordWriter() { close(); }

Result<std::unique_ptr<RecordWriter>, OpenRefusal> RecordWriter::open(const std::filesystem::path& path,
                                                                      const About& about, std::function<void()> notify,
                                                                      std::shared_ptr<WriterSeam> seam,
                                                                      std::shared_ptr<const Signer> signer) {
  if (!seam) seam = std::make_shared<WriterSeam>();
  auto work = std::make_unique<Work>(path, std::move(notify), std::move(seam), std::move(signer));
  if (auto refusal = work->open(about)) return Failure{std::move(*refusal)};
  std::unique_ptr<RecordWriter> writer{new RecordWriter{std::move(work)}};
  if (about.simulated && !writer->simulated()) writer->append_about(about);
  return writer;
}

const Tail& RecordWriter::opened_at() const { return work_->opened; }

std::optional<std::int64_t> RecordWriter::append(std::vector<Row>&& rows) {
  const std::size_t bytes = bytes_of(rows);
  const std::lock_guard lock{work_->mutex};
  if (rows.empty()) return work_->next_seq - 1;
  if (work_->closing || work_->rows + rows.size() > most_waiting_rows || work_->bytes + bytes > most_waiting_bytes)
    return std::nullopt;
  work_->enqueue_checkpoint(work_->checkpoints.in_front_of(rows, work_->durable.seq));
  work_->enqueue(std::move(rows), bytes);
  if (work_->waiting.size() == 1 || !work_->waits_for_company) work_->wake.notify_all();
  return work_->next_seq - 1;
}

std::optional<std::int64_t> RecordWriter::append_about(const About& about) {
  const auto seq = append({row_of(about, work_->opened.schema_sha256)});
  const std::lock_guard lock{work_->mutex};
  work_->simulated = work_->simulated || (seq && about.simulated);
  return seq;
}

bool RecordWriter::has_room() const {
  const std::lock_guard lock{work_->mutex};
  return !work_->closing && work_->rows < most_waiting_rows / 2 && work_->bytes < most_waiting_bytes / 2;
}

bool RecordWriter::simulated() const {
  const std::lock_guard lock{work_->mutex};
  return work_->simulated;
}

std::int64_t RecordWriter::durable_seq() const {
  const std::lock_guard lock{work_->mutex};
  return work_->durable.seq;
}

Tail RecordWriter::durable_tail() const {
  const std::lock_guard lock{work_->mutex};
  return work_->durable;
}

Health RecordWriter::health() {
  const std::lock_guard lock{work_->mutex};
  Health health{RecordState::healthy, work_->disk_full, work_->latched, work_->failures, work_->why};
  std::optional<SteadyTime> oldest = work_->in_commit_since;
  if (!oldest && !work_->waiting.empty()) oldest = work_->waiting.front().since;
  if (work_->failed) {
    health.state = RecordState::failed;
    if (work_->mended) {
      work_->failed = work_->mended = false;
      work_->why.clear();
    }
  } else if (oldest && work_->seam->now() - *oldest > std::chrono::nanoseconds{lagging_after.ns}) {
    health.state = RecordState::lagging;
    health.why = "rows wait for the disk longer than " + std::to_string(lagging_after.ns / seconds(1).ns) + " s";
  }
  return health;
}

std::string RecordWriter::public_key() const { return work_->signer ? work_->signer->public_key() : std::string{}; }

void RecordWriter::try_again() {
  const std::lock_guard lock{work_->mutex};
  if (!work_->latched) return;
  work_->asked_again = true;
  work_->wake.notify_all();
}

bool RecordWriter::close() {
  {
    const std::lock_guard lock{work_->mutex};
    work_->closing = true;
    work_->wake.notify_all();
  }
  if (work_->thread.joinable()) work_->thread.join();
  return work_->durable.seq == work_->next_seq - 1;
}

}  // namespace standfast::record
