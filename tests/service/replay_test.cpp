// Replay holds every decision against its row: one that was changed behind the record's back is named.
#include <sqlite3.h>

#include <catch2/catch.hpp>
#include <filesystem>

#include "daemon/record/record_reader.hpp"
#include "daemon/service/replay.hpp"
#include "tests/service/bench.hpp"

using namespace standfast;

namespace {

// A record with a permit, a stop and an ordinary end.
void leave_record(const Folder& folder) {
  Bench bench{grain_store_in(folder)};
  bench.commission();
  REQUIRE(bench.act(bench.commission_permit()).answer.accepted);
  bench.run_for(seconds(2));
  Action stop = action_of(Act::stop, {}, "", Role::technician);
  stop.reason = "crack";
  bench.act(stop);
  bench.run_for(seconds(2));
  bench.finish();
}

// The record as somebody would change it who has the file: without its triggers.
class Changed {
 public:
  explicit Changed(const std::string& record) : path_{record + ".changed"} {
    std::filesystem::copy_file(record, path_, std::filesystem::copy_options::overwrite_existing);
    REQUIRE(sqlite3_open(path_.c_str(), &database_) == SQLITE_OK);
  }
  ~Changed() { sqlite3_close(database_); }
  Changed(const Changed&) = delete;
  Changed& operator=(const Changed&) = delete;

  std::int64_t number(const std::string& sql) {
    sqlite3_stmt* statement = nullptr;
    INFO(sql);
    REQUIRE(sqlite3_prepare_v2(database_, sql.c_str(), -1, &statement, nullptr) == SQLITE_OK);
    const std::int64_t found = sqlite3_step(statement) == SQLITE_ROW ? sqlite3_column_int64(statement, 0) : 0;
    sqlite3_finalize(statement);
    return found;
  }
  void run(const std::string& sql) {
    INFO(sql);
    REQUIRE(sqlite3_exec(database_, sql.c_str(), nullptr, nullptr, nullptr) == SQLITE_OK);
  }
  // A row in the middle of the table; 0: it has none.
  std::int64_t a_row(const std::string& table) {
    return number("SELECT seq FROM " + table + " ORDER BY seq LIMIT 1 OFFSET (SELECT count(*) / 2 FROM " + table + ")");
  }
  void without_triggers(const std::string& table) {
    for (const char* word : {"_kept", "_left", "_last"}) run("DROP TRIGGER " + table + word);
  }
  Replayed replayed(ReplayFrom from = ReplayFrom::start) {
    auto reader = record::RecordReader::open_not_trusted(path_);  // Triggers are gone.
    REQUIRE(reader);
    auto found = replay(*reader, from);
    if (!found) FAIL(found.error());
    return *found;
  }

 private:
  std::string path_;
  sqlite3* database_{nullptr};
};

}  // namespace

TEST_CASE("a decision that was changed in the record is named by replay, whatever kind it is") {
  const Folder folder;
  leave_record(folder);
  const std::string record = folder.path() + "/record.db";
  const std::pair<const char*, const char*> changes[] = {
      {"answer", "text = text || '.'"},       {"alarm", "say = say || '.'"},         {"signal", "subject = subject || '.'"},
      {"permit", "by = by || '.'"},           {"stage", "facts = facts || '.'"},     {"output_wanted", "gives = 1 - gives"},
      {"output_wanted", "beacon = 1 - beacon"}, {"alarm", "first_out = 1 - first_out"}, {"alarm", "level = 'review'"}};
  for (const auto& [table, change] : changes) {
    Changed changed{record};
    const std::int64_t seq = changed.a_row(table);
    INFO(table << " row " << seq << ": " << change);
    REQUIRE(seq > 0);
    changed.without_triggers(table);
    changed.run("UPDATE " + std::string(table) + " SET " + change + " WHERE seq = " + std::to_string(seq));
    const Replayed replayed = changed.replayed();
    REQUIRE(replayed.first_difference);
    CHECK(replayed.first_difference->seq == seq);
    CHECK(replayed.first_difference->recorded != replayed.first_difference->replayed);
    CHECK_FALSE(replayed.first_difference->recorded.empty());
    CHECK_FALSE(replayed.first_difference->replayed.empty());
  }
}

TEST_CASE("a decision that was taken out of the record is missed by replay") {
  const Folder folder;
  leave_record(folder);
  Changed less{folder.path() + "/record.db"};
  const std::int64_t last_word = less.number("SELECT max(seq) FROM permit");
  less.without_triggers("permit");
  less.run("DELETE FROM permit WHERE seq = " + std::to_string(last_word));
  const Replayed missed = less.replayed();
  REQUIRE(missed.first_difference);
  CHECK(missed.first_difference->recorded != missed.first_difference->replayed);
  CHECK(missed.first_difference->seq <= last_word + 1);
}

TEST_CASE("a decision that stands in the place of another is named by replay") {
  const Folder folder;
  leave_record(folder);
  Changed other{folder.path() + "/record.db"};
  const std::int64_t seq = other.a_row("value");
  REQUIRE(seq > 0);
  other.without_triggers("value");
  other.without_triggers("notice");
  const std::string there = " WHERE seq = " + std::to_string(seq);
  other.run("INSERT INTO notice SELECT seq, span, at_ns, wall_ns, 'put in', '' FROM value" + there + "; DELETE FROM value" + there);
  const Replayed replayed = other.replayed();
  REQUIRE(replayed.first_difference);
  CHECK(replayed.first_difference->seq == seq);
  CHECK(replayed.first_difference->recorded.find("put in") != std::string::npos);
}

TEST_CASE("a snapshot that is not the state it stands for is a difference") {
  const Folder folder;
  leave_record(folder);
  Changed changed{folder.path() + "/record.db"};
  const std::int64_t seq = changed.number("SELECT max(seq) FROM snapshot");
  changed.without_triggers("snapshot");
  changed.run("UPDATE snapshot SET sha256 = '" + std::string(64, '0') + "' WHERE seq = " + std::to_string(seq));
  const Replayed replayed = changed.replayed();
  REQUIRE(replayed.first_difference);
  CHECK(replayed.first_difference->seq == seq);
}

TEST_CASE("behind an ordinary end the replay of the newest snapshot goes back to one that something follows") {
  const Folder folder;
  leave_record(folder);
  auto reader = record::RecordReader::open(folder.path() + "/record.db");
  REQUIRE(reader);
  const auto newest = reader->newest_snapshot();
  REQUIRE(newest);
  REQUIRE(*newest);
  const auto replayed = replay(*reader, ReplayFrom::newest_snapshot);
  REQUIRE(replayed);
  CHECK(replayed->events > 0);
  CHECK(replayed->from_seq < (*newest)->seq);
  CHECK(replayed->to_seq >= (*newest)->seq);
  CHECK_FALSE(replayed->first_difference);
}
