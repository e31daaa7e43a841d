#include "daemon/record/record_writer.hpp"

#include <atomic>
#include <condition_variable>
#include <mutex>
#include <thread>

#include <catch2/catch.hpp>
#include <sqlite3.h>

#include "daemon/record/verify.hpp"
#include "tests/record/fixture.hpp"
#include "tests/support/bad_disk.hpp"

using namespace standfast;
using namespace standfast::record;
using namespace standfast::testing;

namespace {

// Notes every call of `notify` and lets the test wait for what it wants to see.
class Seen {
 public:
  std::function<void()> notify() {
    return [this] {
      const std::lock_guard lock{mutex_};
      ++calls_;
      changed_.notify_all();
    };
  }
  template <class Condition>
  void wait(Condition condition) {
    std::unique_lock lock{mutex_};
    while (!condition()) changed_.wait(lock);
  }

 private:
  std::mutex mutex_;
  std::condition_variable changed_;
  int calls_{0};
};

class DiskSeam : public SmallSeam {
 public:
  const char* vfs() const override { return BadDisk::name; }
};

// Holds every commit back until it is let go.
class HeldSeam : public SmallSeam {
 public:
  void before_commit() override {
    std::unique_lock lock{mutex_};
    arrived_ = true;
    changed_.notify_all();
    changed_.wait(lock, [this] { return !held_; });
  }
  void wait_for_a_commit() {
    std::unique_lock lock{mutex_};
    changed_.wait(lock, [this] { return arrived_; });
  }
  void let_go() {
    const std::lock_guard lock{mutex_};
    held_ = false;
    changed_.notify_all();
  }

 private:
  std::mutex mutex_;
  std::condition_variable changed_;
  bool held_{true}, arrived_{false};
};

void whole(const std::filesystem::path& path, std::int64_t rows) {
  const auto found = verify(path);
  if (!found) FAIL(found.error());
  CHECK(found->why == "");
  CHECK(found->rows == rows);
  CHECK(ask(path, "PRAGMA integrity_check") == "ok");
}

std::int64_t opened_rows() { return 1 + static_cast<std::int64_t>(opening_rows().size()); }

// A bad disk with a record on it, the opening rows durable.
struct OnBadDisk {
  Folder folder;
  BadDisk disk;
  Seen seen;
  std::unique_ptr<RecordWriter> writer;

  explicit OnBadDisk(std::shared_ptr<WriterSeam> seam = std::make_shared<DiskSeam>()) {
    writer = open_writer(folder.record(), seen.notify(), std::move(seam));
    REQUIRE(writer->append(opening_rows()) == opened_rows());
    seen.wait([this] { return writer->durable_seq() == opened_rows(); });
  }
  void append(std::int64_t from, std::int64_t to) {
    for (std::int64_t n = from; n <= to; ++n) REQUIRE(writer->append({notice_row(n)}));
  }
  void all_there(std::int64_t notices) {
    CHECK(writer->close());
    writer.reset();
    whole(folder.record(), opened_rows() + notices);
    CHECK(ask(folder.record(), "SELECT count(*), count(DISTINCT text) FROM notice") ==
          std::to_string(notices) + "|" + std::to_string(notices));
  }
};

}  // namespace

TEST_CASE("rows get consecutive numbers, are durable in order, and the seals cover them all") {
  const Folder folder;
  Seen seen;
  auto writer = open_writer(folder.record(), seen.notify());
  CHECK(writer->append(opening_rows()) == opened_rows());
  CHECK(writer->append({}) == opened_rows());
  CHECK(writer->append({notice_row(1), notice_row(2)}) == opened_rows() + 2);
  seen.wait([&] { return writer->durable_seq() == opened_rows() + 2; });
  const Tail tail = writer->durable_tail();
  CHECK(tail.seq == opened_rows() + 2);
  CHECK(writer->health().state == RecordState::healthy);
  CHECK(writer->close());
  CHECK_FALSE(writer->append({notice_row(3)}));
  whole(folder.record(), opened_rows() + 2);
  CHECK(ask(folder.record(), "SELECT max(batch) FROM seal") == std::to_string(tail.batch));
}

TEST_CASE("rows that come while a commit runs share the next one, and rows of one call are never parted") {
  const Folder folder;
  const auto seam = std::make_shared<HeldSeam>();
  auto writer = open_writer(folder.record(), {}, seam);
  REQUIRE(writer->append(opening_rows()));
  seam->wait_for_a_commit();
  for (int i = 1; i <= 50; ++i) REQUIRE(writer->append({notice_row(2 * i), notice_row(2 * i + 1)}));
  CHECK(writer->durable_seq() == 1);
  seam->let_go();
  CHECK(writer->close());
  CHECK(ask(folder.record(), "SELECT last_seq - first_seq + 1 FROM seal") ==
        "1;" + std::to_string(opening_rows().size()) + ";100");
}

TEST_CASE("an opened record goes on where it ended") {
  const Folder folder;
  write_sample(folder.record());
  const auto writer = open_writer(folder.record());
  CHECK(writer->opened_at().span == 1);
  CHECK(writer->opened_at().revision == 1);
  CHECK(std::to_string(writer->opened_at().seq) == ask(folder.record(), "SELECT max(last_seq) FROM seal"));
  CHECK(writer->opened_at().wall == sample_events().back().wall);
  CHECK(writer->append({notice_row(5)}) == writer->opened_at().seq + 1);
  CHECK(writer->close());
  whole(folder.record(), writer->opened_at().seq + 1);
}

TEST_CASE("a record that was once marked as simulated stays so, and one that was not gets the mark") {
  const Folder folder;
  About real = standfast::testing::about;
  real.simulated = false;
  const auto seam = std::make_shared<SmallSeam>();
  CHECK_FALSE((*RecordWriter::open(folder.record(), real, {}, seam))->simulated());
  const auto writer = open_writer(folder.record());
  CHECK(writer->simulated());
  CHECK(writer->close());
  const auto again = RecordWriter::open(folder.record(), real, {}, seam);
  REQUIRE(again);
  CHECK((*again)->simulated());
  CHECK((*again)->append_about(real));
  CHECK((*again)->simulated());
  CHECK((*again)->close());
  whole(folder.record(), 3);
  CHECK(ask(folder.record(), "SELECT simulated FROM about") == "0;1;0");
}

TEST_CASE("a full queue refuses rows whole, takes the next when there is room, and leaves no hole") {
  const Folder folder;
  const auto seam = std::make_shared<HeldSeam>();
  auto writer = open_writer(folder.record(), {}, seam);
  REQUIRE(writer->append(opening_rows()));
  seam->wait_for_a_commit();
  const std::string text(most_waiting_bytes / 3, 'x');
  const auto large = [&] { return rows_of({EffectRow{Notice{"large", text}}}, {1, Instant{1}, WallTime{1}}, {}); };
  CHECK(writer->append(large()));
  CHECK(writer->append(large()));
  CHECK_FALSE(writer->append(large()));
  std::vector<Row> many(most_waiting_rows, notice_row(1));
  CHECK_FALSE(writer->append(std::move(many)));
  CHECK(writer->append({notice_row(2)}) == opened_rows() + 3);
  seam->let_go();
  CHECK(writer->close());
  whole(folder.record(), opened_rows() + 3);
}

TEST_CASE("a row that breaks a rule of the schema stops the record until a person looks, and nothing after it is lost") {
  const Folder folder;
  Seen seen;
  auto writer = open_writer(folder.record(), seen.notify());
  REQUIRE(writer->append(opening_rows()));
  seen.wait([&] { return writer->durable_seq() == opened_rows(); });
  REQUIRE(writer->append({notice_row(1, 99)}));  // There is no span 99.
  seen.wait([&] { return writer->health().latched; });
  CHECK(writer->health().state == RecordState::failed);
  CHECK_FALSE(writer->close());
  whole(folder.record(), opened_rows());
}

TEST_CASE("one failed sync or write is looked into by itself: no row is lost, doubled or out of order") {
  const auto fault = GENERATE(DiskFault::sync_fails, DiskFault::write_fails, DiskFault::short_write);
  for (int later = 1; later <= 12; ++later) {
    OnBadDisk on;
    on.disk.fail_at(on.disk.calls() + later, fault);
    on.append(1, 20);
    on.seen.wait([&] { return on.writer->durable_seq() == opened_rows() + 20; });
    const Health health = on.writer->health();
    CHECK((health.state == RecordState::failed) == (health.failures == 1));  // Mended, but it is told once.
    CHECK(on.writer->health().state == RecordState::healthy);
    on.all_there(20);
  }
}

TEST_CASE("a disk that fails for ever leaves the record failed until a person says it is mended; then all of it is there") {
  const auto fault = GENERATE(DiskFault::sync_fails, DiskFault::write_fails, DiskFault::short_write);
  OnBadDisk on;
  on.disk.fail_at(0, fault, true);
  on.append(1, 20);
  on.seen.wait([&] { return on.writer->health().latched; });
  CHECK(on.writer->health().state == RecordState::failed);
  CHECK(on.writer->health().failures >= 1);
  CHECK_FALSE(on.writer->health().why.empty());
  CHECK(on.writer->durable_seq() == opened_rows());
  on.append(21, 30);
  on.writer->try_again();  // It is not mended: it fails again.
  on.seen.wait([&] { return on.writer->health().latched; });
  on.disk.mend();
  // The person may come while the last attempt still fails, so asks until it is heard.
  while (on.writer->durable_seq() < opened_rows() + 30) {
    on.writer->try_again();
    std::this_thread::yield();
  }
  on.writer->health();
  CHECK(on.writer->health().state == RecordState::healthy);
  on.all_there(30);
}

TEST_CASE("a failed record closes without waiting for the disk, and says that rows are missing") {
  OnBadDisk on;
  on.disk.fail_at(0, DiskFault::sync_fails, true);
  on.append(1, 5);
  on.seen.wait([&] { return on.writer->health().latched; });
  CHECK_FALSE(on.writer->close());
  on.writer.reset();
  on.disk.mend();
  CHECK(open_writer(on.folder.record())->close());
  const auto found = verify(on.folder.record());
  REQUIRE(found);
  CHECK(found->proved());
  CHECK(found->rows >= opened_rows());
}

TEST_CASE("when the disk is full the ballast is given back, and the record goes on without a person") {
  class FullSeam : public DiskSeam {
   public:
    BadDisk* disk{nullptr};
    std::atomic<int> given{0};
    std::int64_t ballast() const override { return 1 << 16; }
    void ballast_given_back() override {
      ++given;
      disk->mend();
    }
  };
  const auto seam = std::make_shared<FullSeam>();
  OnBadDisk on{seam};
  seam->disk = &on.disk;
  const auto ballast = on.folder.path / "record.db.ballast";
  CHECK(std::filesystem::file_size(ballast) == 1 << 16);
  on.disk.full_beyond(0);
  on.append(1, 20);
  on.seen.wait([&] { return on.writer->durable_seq() == opened_rows() + 20; });
  CHECK(seam->given == 1);
  CHECK(on.writer->health().why == "the disk is full");
  CHECK(on.writer->health().state == RecordState::healthy);
  on.seen.wait([&] { return !on.writer->health().disk_full; });
  CHECK(std::filesystem::exists(ballast));  // Laid down again as soon as there was room.
  on.all_there(20);
}

TEST_CASE("while the ballast is laid down again nobody waits: rows are taken, and what is durable is known") {
  class SlowSeam : public DiskSeam {
   public:
    BadDisk* disk{nullptr};
    std::mutex mutex;
    std::condition_variable changed;
    bool laying{false}, go_on{false};
    std::int64_t ballast() const override { return 1 << 16; }
    void ballast_given_back() override { disk->mend(); }
    void before_ballast() override {
      std::unique_lock lock{mutex};
      laying = true;
      changed.notify_all();
      changed.wait(lock, [this] { return go_on; });
    }
  };
  const auto seam = std::make_shared<SlowSeam>();
  OnBadDisk on{seam};
  seam->disk = &on.disk;
  on.disk.full_beyond(0);
  on.append(1, 20);
  {
    std::unique_lock lock{seam->mutex};
    seam->changed.wait(lock, [&] { return seam->laying; });
  }
  CHECK(on.writer->durable_seq() >= opened_rows());
  CHECK(on.writer->health().disk_full);
  on.append(21, 40);
  CHECK(on.writer->has_room());
  {
    const std::lock_guard lock{seam->mutex};
    seam->go_on = true;
    seam->changed.notify_all();
  }
  on.seen.wait([&] { return on.writer->durable_seq() == opened_rows() + 40; });
  on.all_there(40);
}

TEST_CASE("when the disk is full and stays so the record is failed, but not for ever") {
  OnBadDisk on;
  on.disk.full_beyond(0);
  on.append(1, 3);
  on.seen.wait([&] { return on.writer->health().state == RecordState::failed; });
  CHECK(on.writer->health().disk_full);
  CHECK_FALSE(on.writer->health().latched);
  on.disk.mend();
  on.seen.wait([&] { return on.writer->durable_seq() == opened_rows() + 3; });
  CHECK(on.writer->health().state == RecordState::failed);
  CHECK(on.writer->health().state == RecordState::healthy);
  on.all_there(3);
}

TEST_CASE("a disk that fills up during any of the next calls loses nothing") {
  for (int later = 1; later <= 20; ++later) {
    OnBadDisk on;
    on.disk.fail_at(on.disk.calls() + later, DiskFault::full);
    on.append(1, 20);
    on.seen.wait([&] { return on.writer->durable_seq() == opened_rows() + 20; });
    on.all_there(20);
  }
}

TEST_CASE("a record that another program holds is waited for, and nothing is lost meanwhile") {
  const Folder folder;
  Seen seen;
  auto writer = open_writer(folder.record(), seen.notify());
  REQUIRE(writer->append(opening_rows()));
  seen.wait([&] { return writer->durable_seq() == opened_rows(); });
  sqlite3* other = nullptr;
  REQUIRE(sqlite3_open(folder.record().c_str(), &other) == SQLITE_OK);
  REQUIRE(sqlite3_exec(other, "BEGIN IMMEDIATE", nullptr, nullptr, nullptr) == SQLITE_OK);
  for (int i = 1; i <= 20; ++i) REQUIRE(writer->append({notice_row(i)}));
  CHECK(writer->durable_seq() == opened_rows());
  CHECK(writer->health().failures == 0);
  sqlite3_exec(other, "ROLLBACK", nullptr, nullptr, nullptr);
  sqlite3_close(other);
  seen.wait([&] { return writer->durable_seq() == opened_rows() + 20; });
  CHECK(writer->close());
  whole(folder.record(), opened_rows() + 20);
}

TEST_CASE("another program that writes into the record is found out, and the record stops") {
  const Folder folder;
  Seen seen;
  auto writer = open_writer(folder.record(), seen.notify());
  REQUIRE(writer->append(opening_rows()));
  seen.wait([&] { return writer->durable_seq() == opened_rows(); });
  const std::string next = std::to_string(opened_rows() + 1);
  CHECK(ask(folder.record(), "INSERT INTO notice VALUES (" + next + ", 1, 0, 0, 'x', 'not ours')") == "");
  REQUIRE(writer->append({notice_row(1)}));
  seen.wait([&] { return writer->health().latched; });
  CHECK(writer->durable_seq() == opened_rows());
  CHECK_FALSE(writer->close());
}

TEST_CASE("a reader that stays long makes the log grow, but stops nothing") {
  const Folder folder;
  auto writer = open_writer(folder.record());
  REQUIRE(writer->append(opening_rows()));
  sqlite3* reader = nullptr;
  REQUIRE(sqlite3_open_v2(folder.record().c_str(), &reader, SQLITE_OPEN_READONLY, nullptr) == SQLITE_OK);
  REQUIRE(sqlite3_exec(reader, "BEGIN; SELECT * FROM about", nullptr, nullptr, nullptr) == SQLITE_OK);
  const std::string text(5000, 'x');
  for (int i = 1; i <= 1500; ++i)
    REQUIRE(writer->append(rows_of({EffectRow{Notice{"n", text}}}, {1, Instant{i}, WallTime{i}}, {})));
  CHECK(writer->close());
  sqlite3_close(reader);
  CHECK(writer->health().state == RecordState::healthy);
  whole(folder.record(), opened_rows() + 1500);
}
