// What the service makes of a record that lags, has no room, or is behind: it says so, holds, and leaves the loss in the record.
#include <sqlite3.h>

#include <boost/json.hpp>
#include <catch2/catch.hpp>
#include <chrono>

#include "daemon/record/record_reader.hpp"
#include "daemon/service/replay.hpp"
#include "tests/service/bench.hpp"

using namespace standfast;

namespace {

constexpr int patience = 60'000;  // So often 1 ms: only a guard against waiting for ever.

void wait_until(const std::function<bool()>& is_so) {
  for (int i = 0; !is_so(); ++i) {
    REQUIRE(i < patience);
    std::this_thread::sleep_for(std::chrono::milliseconds(1));
  }
}

// A confirmed act is behind everything before it.
void all_on_disk(Bench& bench) { REQUIRE(bench.act(action_of(Act::silence, {}, "", Role::technician)).recorded); }

std::string at(Bench& bench, const char* part, const char* key) {
  const boost::json::value picture = boost::json::parse(bench.picture());
  const auto text = picture.at(part).at(key).as_string();
  return {text.begin(), text.end()};
}

bool has_alarm(Bench& bench, const std::string& subject, const std::string& state = {}) {
  const boost::json::value picture = boost::json::parse(bench.picture());
  for (const auto& alarm : picture.at("alarms").as_array())
    if (alarm.at("subject").as_string() == subject && alarm.at("state").as_string().starts_with(state)) return true;
  return false;
}

std::vector<std::string> kinds_of_events(Bench& bench) {
  auto reader = record::RecordReader::open(bench.folder.record_path());
  REQUIRE(reader);
  const auto lines = reader->lines("event", 0, 100'000);
  REQUIRE(lines);
  std::vector<std::string> kinds;
  for (const auto& row : lines->rows)
    for (std::size_t c = 0; c < row.size(); ++c)
      if (lines->columns[c] == "kind") kinds.push_back(row[c].value_or(""));
  return kinds;
}

std::int64_t number_in(const std::string& record, const std::string& sql) {
  sqlite3* database = nullptr;
  REQUIRE(sqlite3_open_v2(record.c_str(), &database, SQLITE_OPEN_READONLY, nullptr) == SQLITE_OK);
  sqlite3_stmt* statement = nullptr;
  INFO(sql);
  REQUIRE(sqlite3_prepare_v2(database, sql.c_str(), -1, &statement, nullptr) == SQLITE_OK);
  REQUIRE(sqlite3_step(statement) == SQLITE_ROW);
  const std::int64_t found = sqlite3_column_int64(statement, 0);
  sqlite3_finalize(statement);
  sqlite3_close(database);
  return found;
}

// Fills what may wait for the disk with rows that neither replay nor restart look at, until not one more finds room; the seq of the
// last. Something smaller may still.
std::int64_t fill_what_may_wait(Bench& bench) {
  std::int64_t last = 0;
  for (std::size_t bytes = 1 << 20; bytes > 0; bytes /= 4) {
    record::About about{false, std::string(bytes, 'x'), "test", "host", bench.clock.wall()};
    while (const auto seq = bench.writer->append_about(about)) last = *seq;
  }
  return last;
}

}  // namespace

TEST_CASE("a record that lags by more than five seconds is a HOLD, at exactly five it is none") {
  const Folder folder;
  Bench bench{grain_store_in(folder)};
  bench.commission();
  all_on_disk(bench);
  bench.disk->hold(true);
  bench.run_for(milliseconds(50));
  bench.disk->pass(record::lagging_after);
  bench.run_for(milliseconds(50));
  CHECK(at(bench, "record", "state") == "healthy");
  CHECK(at(bench, "signal", "level") == "none");
  bench.disk->pass(nanoseconds(1));
  bench.run_for(milliseconds(50));
  CHECK(at(bench, "record", "state") == "lagging");
  CHECK(at(bench, "signal", "level") == "hold");
  CHECK(has_alarm(bench, "record"));
  bench.disk->hold(false);
}

TEST_CASE("a record that has caught up is told to the engine too, and the HOLD stays until somebody looks") {
  const Folder folder;
  Bench bench{grain_store_in(folder)};
  bench.commission();
  bench.disk->hold(true);
  bench.run_for(milliseconds(50));
  bench.disk->pass(record::lagging_after + seconds(1));
  bench.run_for(milliseconds(50));
  REQUIRE(at(bench, "record", "state") == "lagging");
  bench.disk->hold(false);
  wait_until([&] {
    bench.run_for(milliseconds(50));
    return at(bench, "record", "state") == "healthy";
  });
  CHECK(at(bench, "signal", "level") == "hold");
  CHECK(has_alarm(bench, "record", "latched"));
}

TEST_CASE("rows for which there was no room are a gap in the record with a snapshot behind it, and replay goes on from there") {
  const Folder folder;
  const std::string path = folder.path() + "/record.db";
  {
    Bench bench{grain_store_in(folder)};
    bench.commission();
    bench.disk->hold(true);
    const std::int64_t last = fill_what_may_wait(bench);
    bench.run_for(seconds(1));
    bench.disk->hold(false);
    wait_until([&] { return bench.writer->durable_seq() >= last && bench.writer->has_room(); });
    bench.run_for(seconds(2));
    wait_until([&] { return bench.writer->has_room(); });  // Else the last snapshot could be refused on a slow machine.
    bench.finish();
  }
  CHECK(number_in(path, "SELECT coalesce(sum(lost), 0) FROM gap") >= 20);
  CHECK(number_in(path, "SELECT max(until_wall_ns) - min(from_wall_ns) FROM gap WHERE lost > 0") > milliseconds(500).ns);
  const std::string behind = "(SELECT max(seq) FROM gap WHERE lost > 0)";
  CHECK(number_in(path, "SELECT count(*) FROM scan WHERE seq > " + behind + " AND seq < (SELECT min(seq) FROM snapshot WHERE seq > " +
                            behind + ")") <= 1);
  auto reader = record::RecordReader::open(path);
  REQUIRE(reader);
  const auto replayed = replay(*reader, ReplayFrom::start);
  if (!replayed) FAIL(replayed.error());
  CHECK(replayed->resumed >= 1);
  if (replayed->first_difference) FAIL(replayed->first_difference->recorded + "\n" + replayed->first_difference->replayed);
}

TEST_CASE("the state is written every ten minutes, asked for by nobody") {
  const Folder folder;
  Bench bench{grain_store_in(folder)};
  REQUIRE(bench.adopt().answer.accepted);
  bench.run_for(seconds(2));
  const auto job = bench.folder.read();
  REQUIRE(job);
  const std::int64_t a_minute_later = bench.clock.now().ns + minutes(1).ns;
  // One bus answers, slowly: what that changes, it changes within seconds. Then nothing new comes.
  for (int i = 0; i < 21 * 60 * 2; ++i) {
    bench.clock.pass(milliseconds(500));
    bench.inbox.add_scan(quiet_scan(*job->job, BlockId{0}, bench.clock.now()));
    bench.settle();
  }
  all_on_disk(bench);
  const std::string later = "SELECT count(*) FROM snapshot WHERE at_ns > " + std::to_string(a_minute_later);
  CHECK(number_in(bench.folder.record_path(), later) == 2);
}

TEST_CASE("rows go to the disk as they come: no row waits for another, or for time to pass") {
  const Folder folder;
  Bench bench{grain_store_in(folder)};
  bench.commission();
  const auto job = bench.folder.read();
  REQUIRE(job);
  for (int i = 0; i < 10; ++i) {
    const std::int64_t durable = bench.writer->durable_seq();
    bench.inbox.add_scan(quiet_scan(*job->job, BlockId{0}, bench.clock.now()));
    bench.settle();
    wait_until([&] { return bench.writer->durable_seq() > durable; });
  }
}

TEST_CASE("what waits while the disk is busy goes with the next commit, all of it") {
  const Folder folder;
  Bench bench{grain_store_in(folder)};
  bench.commission();
  bench.disk->hold(true);
  bench.run_for(milliseconds(50));
  bench.run_for(seconds(2));
  bench.service->finish();  // Nothing more is handed over: the last rows are those of the end.
  const int begun = bench.disk->commits();
  bench.disk->hold(false);
  REQUIRE(bench.writer->close());
  CHECK(bench.disk->commits() <= begun + 3);  // The waiting rows, and what the end itself writes.
}

TEST_CASE("a record that a simulated job comes into force in says so for ever, whoever opened it", "[fault-52]") {
  const Folder folder;
  {
    Bench bench{grain_store_in(folder)};
    CHECK_FALSE(bench.writer->simulated());
    REQUIRE(bench.adopt().answer.accepted);
    CHECK(bench.writer->simulated());
    bench.finish();
  }
  CHECK(number_in(folder.path() + "/record.db", "SELECT simulated FROM about ORDER BY seq DESC LIMIT 1") == 1);
  const Bench again{folder.path()};
  CHECK(again.writer->simulated());
}

TEST_CASE("while nothing at all comes the engine is asked four times a second, and is never called late") {
  const Folder folder;
  Bench bench{grain_store_in(folder)};
  bench.run_for(seconds(1));
  const std::int64_t applied = bench.service->standing().progress.back();
  for (int i = 0; i < 100; ++i) {
    bench.clock.pass(milliseconds(50));
    bench.settle();
  }
  CHECK(bench.service->standing().progress.back() - applied >= 18);
  bench.finish();
  for (const std::string& kind : kinds_of_events(bench)) CHECK(kind != "engine_late");
}

TEST_CASE("at the end the outputs are off before a row is handed over, and wait for no disk") {
  const Folder folder;
  Bench bench{grain_store_in(folder)};
  bench.commission();
  REQUIRE(bench.act(bench.commission_permit()).answer.accepted);
  bench.outputs.wait_for_exchange();
  REQUIRE(bench.outputs.newest()[OutputKind::raise_permit]);
  bench.disk->hold(true);
  std::vector<OutputImage> when_handed_over;
  bench.before_append = [&] { when_handed_over.push_back(bench.outputs.newest()); };
  bench.service->finish();
  bench.before_append = nullptr;
  REQUIRE_FALSE(when_handed_over.empty());
  CHECK(when_handed_over.front() == OutputImage{});
  CHECK(bench.outputs.newest() == OutputImage{});
  bench.disk->hold(false);
}
